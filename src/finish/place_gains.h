#pragma once

#include <vector>

#include "core/plane.h"
#include "spectrum/radial_filter.h"

namespace lull::finish {

/// What a square of a picture is raised by beyond the rest of it.
struct PlaceGains {
  Box box;                                    ///< with even sides
  std::vector<spectrum::FilterPoint> beyond;  ///< gains more than elsewhere; 0 at frequency 0
};

/// What a square looks at beyond its sides.
inline constexpr int kAroundPlacePx = 64;

/// Adds what the squares are raised by. It fades linearly from the middle of each to its sides, so
/// that of squares half a side apart no side shows.
/// @param canvas  to filter; reaches kAroundPlacePx beyond each square.
/// @param places  of one size, in px of the canvas; those that overlap are half a side apart.
/// @param sharp  changed. @param x0,y0  where it lies on the canvas.
void add_places(PlaneView canvas, const std::vector<PlaceGains>& places, MutablePlaneView sharp,
                int x0, int y0);

}  // namespace lull::finish
