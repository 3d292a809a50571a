#pragma once

#include <array>
#include <vector>

#include "core/plane.h"

namespace lull::finish {

/// Factors of red, green and blue.
using WhiteBalance = std::array<double, 3>;

/// Light in red, green and blue.
using Light = std::array<double, 3>;

/// Factors that make the object gray on the mean, green's being 1: the gray-world assumption
/// (Buchsbaum 1980, Journal of the Franklin Institute 310, 1) over what is brighter than a tenth of
/// the way from the sky to the brightest hundredth, and not saturated. Sky and camera offset are
/// subtracted first where a dark surrounding shows them.
/// @param picture  red, green, blue in light, 1 = full scale; equal sizes.
/// @return {1, 1, 1} where a colour has no light.
[[nodiscard]] WhiteBalance gray_world(const std::array<PlaneView, 3>& picture);

/// The same for an object that is not gray: its mean becomes this colour, green's factor being 1.
/// @param colour  red, green and blue against each other.
[[nodiscard]] WhiteBalance balance_to(const std::array<PlaneView, 3>& picture, const Light& colour);

/// Colour of a body that sunlight falls on, green 1: 10^(0.4 ((V-R) - (V-R of the Sun))) in red,
/// and 10^(-0.4 ((B-V) - (B-V of the Sun))) in blue. The bands R, V and B are taken for the
/// camera's red, green and blue. Of the Sun: B-V 0.65, V-R 0.36 (Johnson-Cousins).
/// @param b_v,v_r  colour indices of the whole disc, magnitudes.
[[nodiscard]] Light sunlit_colour(double b_v, double v_r);

/// Mean light of the sky around the object, with what the camera adds; 0 where there is none.
[[nodiscard]] Light sky_of(const std::array<PlaneView, 3>& picture);

/// Multiplies what each colour shows over the sky by its factor; the sky gets the light of green's
/// in all of them, so that it is gray. @param picture  three planes. @param sky  theirs.
void balance(std::vector<Plane>& picture, const WhiteBalance& factors, const Light& sky = {});

}  // namespace lull::finish
