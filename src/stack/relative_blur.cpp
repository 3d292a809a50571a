#include "stack/relative_blur.h"

#include <algorithm>

#include "stack/ring_sums.h"

namespace lull::stack {

std::vector<align::FilterPoint> relative_blur(PlaneView from, PlaneView to) {
  std::vector<align::FilterPoint> points = {{0, 1}};
  for (const RingSums& ring : ring_sums(from, to, 8, 50)) {
    const double least_squares = ring.first > 0 ? ring.cross / ring.first : 0;
    points.push_back({ring.frequency, std::clamp(least_squares, 0.0, points.back().gain)});
  }
  return points;
}

}  // namespace lull::stack
