#include "stack/relative_blur.h"

#include <algorithm>

#include "spectrum/ring_sums.h"

namespace lull::stack {

std::vector<spectrum::FilterPoint> relative_blur(PlaneView from, PlaneView to) {
  std::vector<spectrum::FilterPoint> points = {{0, 1}};
  for (const spectrum::RingSums& ring : spectrum::ring_sums(from, to)) {
    const double least_squares = ring.first > 0 ? ring.cross / ring.first : 0;
    points.push_back({ring.frequency, std::clamp(least_squares, 0.0, points.back().gain)});
  }
  return points;
}

}  // namespace lull::stack
