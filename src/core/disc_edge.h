#pragma once

#include <optional>
#include <vector>

#include "core/geometry.h"
#include "core/plane.h"

namespace lull {

/// A circle in a picture, px; its centre may lie outside.
struct Circle {
  double x_px = 0;
  double y_px = 0;
  double radius_px = 0;

  /// How far a place lies outside, px; inside it is negative.
  [[nodiscard]] double outside_px(Displacement place) const;
};

/// Brightness at the edge of a disc against the sky: a fifth of the way from sky to disc, below the
/// darkened limb and above the light of the sky.
/// @param values  of the picture, reordered. @return none where what is darkest is no dark sky.
[[nodiscard]] std::optional<double> edge_level(std::vector<float>& values);

/// Places between neighbouring samples at which brightness crosses a level, linear between them.
[[nodiscard]] std::vector<Displacement> level_crossings(PlaneView picture, double level);

/// A circle through places, and what it leaves out.
struct CircleFit {
  Circle circle;
  double kept = 0;      ///< share of the places that lie on it
  double worst_px = 0;  ///< of those, off the circle
};

/// Least squares (Kasa 1976, IEEE Trans. Instrum. Meas. 25, 8), outliers left out: up to half of
/// the places, wherever they lie.
/// @return none where fewer than 32 places would be left, or they make no circle.
[[nodiscard]] std::optional<CircleFit> fit_circle(std::vector<Displacement> places);

}  // namespace lull
