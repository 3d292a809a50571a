#pragma once

#include <vector>

#include "core/plane.h"

namespace lull::judge {

/// Where places of the scene are seen in a picture: shift, turn and scale about the middles of
/// both.
struct Pose {
  Displacement scene_middle;
  Displacement picture_middle;
  double scale = 1;
  double turn_rad = 0;
  Displacement shift;  ///< px of the picture

  [[nodiscard]] Displacement seen_at(double x, double y) const;

  /// First a small change in the scene: the place p moves to p + moved + grows (p - middle) + turns
  /// (p - middle) turned by a right angle.
  [[nodiscard]] Pose after(Displacement moved, double grows, double turns) const;

  /// The same of pictures reduced over squares of `side` pixels.
  [[nodiscard]] Pose reduced(int side) const;
};

/// Finds it from nothing, for pictures that are upright or upside down to 2 degrees and equal in
/// scale to 2%. Right to about 1% of the sides: for small ones by find_coarse() of every pose.
/// @return the likeliest, and where it is nearly as likely, as a disc without much on it, that the
/// other way up.
/// @throws InputError when the picture does not show the scene.
[[nodiscard]] std::vector<Pose> find_poses(PlaneView scene, PlaneView picture);

/// Means over squares; what is left at the right and below is cut off.
[[nodiscard]] Plane mean_of_squares(PlaneView plane, int side);

}  // namespace lull::judge
