#include "quality/structure.h"

#include <algorithm>

namespace lull::quality {

namespace {

constexpr int kStepPx = 16;
constexpr double kLeast = 1.5;  // of the mean square that noise alone has

}  // namespace

bool shows_structure(PlaneView reduced, int reduction, double noise) {
  const int step = std::max(kStepPx / reduction, 1);
  const int width = reduced.width_px - step;
  const int height = reduced.height_px - step;
  if (width < 1 || height < 1) return true;  // too small to decide
  double squares = 0;
  for (int y = 0; y < height; ++y) {
    const float* above = reduced.row(y);
    const float* below = reduced.row(y + step);
    float row = 0;
    for (int x = 0; x < width; ++x) {
      const float mixed = above[x] - above[x + step] - below[x] + below[x + step];
      row += mixed * mixed;
    }
    squares += static_cast<double>(row);
  }
  const double of_noise = 4 * noise * noise / (reduction * reduction);
  return squares / (static_cast<double>(width) * height) > kLeast * of_noise;
}

}  // namespace lull::quality
