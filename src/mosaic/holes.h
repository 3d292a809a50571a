#pragma once

#include <vector>

#include "core/geometry.h"
#include "core/plane.h"
#include "mosaic/limb_curve.h"
#include "mosaic/panel_map.h"

namespace lull::mosaic {

/// A part of the mosaic that no panel shows, with panels all around.
struct Hole {
  Box box;
  Displacement middle;  ///< centre of its area, px of the mosaic
  double area_px = 0;
};

/// The holes, the largest first. What reaches the edge of the mosaic is none.
/// @param covered  1 where a panel shows something, else 0. @param least_px  area.
[[nodiscard]] std::vector<Hole> holes_in(PlaneView covered, double least_px);

/// Parts of a disc that no panel of the group shows, right to 1/200 of its radius; they may lie
/// beyond the mosaic. None where less than four fifths of the disc are shown: then the whole was
/// not meant. @param least_px  area.
[[nodiscard]] std::vector<Hole> holes_in_disc(const LimbCurve& disc,
                                              const std::vector<PanelMap>& maps,
                                              const std::vector<PanelIndex>& group,
                                              double least_px);

}  // namespace lull::mosaic
