#pragma once

#include "core/plane.h"

namespace lull::globe {

/// So far a Gaussian reaches, in sigma.
inline constexpr double kBlurReach = 4;

/// A picture under a Gaussian. Most of it is dark, which costs little. @param sigma_px  above 0.
[[nodiscard]] Plane blurred(const Plane& sharp, double sigma_px);

/// Two pictures of the same size, the second with this share of the light.
[[nodiscard]] Plane mixed(const Plane& first, const Plane& second, double share);

/// What changes from pixel to pixel, to the right and downwards.
struct Gradient {
  double x;
  double y;
};

/// @param x,y  not at the border.
[[nodiscard]] Gradient gradient_at(const Plane& plane, int x, int y);

/// How a picture changes when the logarithm of its blur's sigma grows: as heat spreads.
/// @param x,y  not at the border.
[[nodiscard]] double spreading_at(const Plane& plane, int x, int y, double sigma_px);

}  // namespace lull::globe
