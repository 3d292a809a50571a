#pragma once

#include <array>
#include <vector>

#include "core/plane.h"

namespace lull::finish {

/// Factors of red, green and blue.
using WhiteBalance = std::array<double, 3>;

/// Factors that make the object gray on the mean, green's being 1: the gray-world assumption
/// (Buchsbaum 1980, Journal of the Franklin Institute 310, 1) over what is brighter than a tenth of
/// the way from the sky to the brightest hundredth, and not saturated. Sky and camera offset are
/// subtracted first where a dark surrounding shows them.
/// @param picture  red, green, blue in light, 1 = full scale; equal sizes.
/// @return {1, 1, 1} where a colour has no light.
[[nodiscard]] WhiteBalance gray_world(const std::array<PlaneView, 3>& picture);

/// Multiplies each colour by its factor. @param picture  three planes.
void balance(std::vector<Plane>& picture, const WhiteBalance& factors);

}  // namespace lull::finish
