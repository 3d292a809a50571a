#pragma once

#include "core/geometry.h"

namespace lull::merge {

/// Shift, turn and scale from the grid of one picture to another picture, about the middles of
/// both: the middle of the grid is seen in the picture at the picture's middle + shift.
struct Similarity {
  Size grid;
  Size picture;
  double scale = 1;  ///< px of the picture for one of the grid
  double turn = 0;   ///< radians, from +x towards +y
  Displacement shift;

  /// Where place (x, y) of the grid is seen in the picture.
  [[nodiscard]] Displacement seen_at(double x, double y) const;

  /// The same for `count` places, in place.
  void move(float* x, float* y, int count) const;

  /// First a small change on the grid, about its middle, then this.
  /// @param moved  px. @param grows,turns  added to a scale of 1 and a turn of 0.
  [[nodiscard]] Similarity after(Displacement moved, double grows, double turns) const;
};

/// The middle of a picture, in the coordinates of its pixels.
[[nodiscard]] Displacement middle_of(Size size);

}  // namespace lull::merge
