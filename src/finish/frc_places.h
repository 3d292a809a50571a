#pragma once

#include <vector>

#include "core/plane.h"
#include "spectrum/frc.h"

namespace lull::finish {

/// The FRC of the half stacks in one square of a picture.
struct FrcSquare {
  /// Side of a square. Neighbours are half a side apart, on a grid that starts at (0, 0).
  static constexpr int kSidePx = 128;

  Box box;  ///< px of the picture
  spectrum::FrcCurve frc;
};

/// Of all squares that lie within a part of a picture and are covered to the last pixel. Each
/// depends on what it shows alone, so that parts and the whole give the same.
/// @param channels  light of that part, 1 or 3. @param noise  of each, see half_difference().
/// @param covered  1 where the picture shows something. All of one size.
/// @param x0,y0  where the part begins in the picture.
/// @return boxes in px of the part.
[[nodiscard]] std::vector<FrcSquare> frc_by_place(const std::vector<PlaneView>& channels,
                                                  const std::vector<PlaneView>& noise,
                                                  PlaneView covered, int x0 = 0, int y0 = 0);

}  // namespace lull::finish
