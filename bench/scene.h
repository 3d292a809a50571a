#pragma once

#include <cmath>

#include "core/plane.h"

namespace lull::bench {

inline constexpr Size kSize{640, 480};

/// Light of an invented surface, about 0.2 to 0.8, at any place.
inline double scene_at(double x, double y) {
  return 0.5 + 0.2 * std::sin(x / 3.1 + y / 23.0) * std::cos(y / 2.7 - x / 31.0) +
         0.1 * std::sin(x / 17.0) * std::cos(y / 13.0);
}

/// What a pixel p of a frame shows whose offset is (x, y) px: the scene at p minus that.
inline Plane frame_of_scene(double x_px, double y_px) {
  Plane plane(kSize);
  for (int y = 0; y < kSize.height_px; ++y) {
    for (int x = 0; x < kSize.width_px; ++x) {
      plane.row(y)[x] = static_cast<float>(scene_at(x - x_px, y - y_px));
    }
  }
  return plane;
}

}  // namespace lull::bench
