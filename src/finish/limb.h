#pragma once

#include <array>
#include <optional>
#include <vector>

#include "core/disc_edge.h"
#include "core/plane.h"

namespace lull::finish {

/// The edge of a disc against dark sky: a circle through the places where brightness crosses a
/// fifth of the way from sky to disc, see fit_circle().
/// @return none where no such edge shows, or it is no circle.
[[nodiscard]] std::optional<Circle> find_limb(PlaneView picture);

/// How a channel darkens towards the limb: a + b mu + c mu^2, mu being the cosine of the viewing
/// angle.
struct LimbLaw {
  std::array<double, 3> terms;
  double brightest = 0;  ///< its largest value within the picture
};

/// Fitted to the disc without outliers (spots). None where that cannot be done.
[[nodiscard]] std::optional<LimbLaw> limb_law(PlaneView channel, const Circle& limb);

/// Divides a channel, or a part of it, by that law.
/// @param limb  as it lies in the part.
void divide_by(Plane& channel, const Circle& limb, const LimbLaw& law);

/// Divides out the darkening towards the limb by limb_law() of each channel. From 0.99 of
/// the radius outwards the factor stays; at the brightest place of the law within the picture it is
/// 1.
/// @param picture  1 or 3 channels, equal sizes, light.
void flatten_limb(std::vector<Plane>& picture, const Circle& limb);

}  // namespace lull::finish
