#pragma once

#include <cstdint>
#include <vector>

#include "core/plane.h"

namespace lull::test {

/// An invented surface: a few hundred Gaussian hills and pits, so that it can be evaluated exactly
/// at any place. Values about 0.2 to 0.8.
class Scene {
 public:
  Scene(Size size, std::uint32_t seed, double smallest_px = 1.5, double largest_px = 8);

  [[nodiscard]] double at(double x, double y) const;

  /// The scene seen through displacement d(x, y): pixel (x, y) shows at(x + dx, y + dy).
  template <class Field>
  [[nodiscard]] Plane seen(Size size, const Field& d) const {
    Plane plane(size);
    for (int y = 0; y < size.height_px; ++y) {
      for (int x = 0; x < size.width_px; ++x) {
        const Displacement s = d(x, y);
        plane.row(y)[x] = static_cast<float>(at(x + s.x_px, y + s.y_px));
      }
    }
    return plane;
  }

 private:
  struct Hill {
    double x, y, height, sigma;
  };

  std::vector<Hill> hills_;
};

/// White Gaussian noise, seeded.
void add_noise(MutablePlaneView plane, double sigma, std::uint32_t seed);

}  // namespace lull::test
