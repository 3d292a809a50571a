#pragma once

#include <doctest/doctest.h>

#include <algorithm>

#include "align/spline_plane.h"
#include "core/geometry.h"
#include "core/normal_equations.h"
#include "core/plane.h"

namespace lull::test {

/// Where detail of a window lies in another picture, less where it lies in the first, px. By least
/// squares on the slopes of the other (Lucas & Kanade 1981), with a brightness and a contrast of
/// its own: colours differ in both.
inline Displacement detail_shift(PlaneView one, const align::SplinePlane& other, const Box& box) {
  Displacement d{};
  for (int round = 0; round < 20; ++round) {
    NormalEquations<4> sums;
    for (int y = box.y0; y < box.y1; ++y) {
      for (int x = box.x0; x < box.x1; ++x) {
        const auto at = [&](double dx, double dy) {
          return static_cast<double>(other.at(x + d.x_px + dx, y + d.y_px + dy));
        };
        sums.add({at(0, 0), 1, 0.5 * (at(1, 0) - at(-1, 0)), 0.5 * (at(0, 1) - at(0, -1))},
                 static_cast<double>(one.at(x, y)));
      }
    }
    const auto found = sums.solution();
    REQUIRE(found.has_value());
    const double contrast = (*found)[0];
    d.x_px += std::clamp((*found)[2] / contrast, -1.0, 1.0);
    d.y_px += std::clamp((*found)[3] / contrast, -1.0, 1.0);
  }
  return d;
}

}  // namespace lull::test
