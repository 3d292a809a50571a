#pragma once

#include <cstdint>
#include <vector>

#include "core/geometry.h"
#include "mosaic/brightness.h"
#include "mosaic/panel.h"
#include "mosaic/panel_map.h"
#include "mosaic/tie.h"

namespace lull::mosaic {

/// Where two panels of a link show different light: shadows that moved between their times, as a
/// rule.
struct MovedOverlap {
  PanelIndex first = 0;
  PanelIndex second = 0;
  double share = 0;  ///< of what both show with light
};

/// Places of a mosaic whose light moved, in cells, each with the panel that is shown there alone: a
/// mean of two moments would show each shadow twice, half as dark.
struct MovedLight {
  static constexpr int kCellPx = 8;
  static constexpr std::int16_t kNobody = -1;

  int columns = 0;  ///< of cells
  int rows = 0;
  std::vector<std::int16_t> owners;    ///< row by row: a panel, or kNobody; empty: nothing moved
  std::vector<MovedOverlap> overlaps;  ///< those in which light moved
  std::vector<Box> places;             ///< connected ones, px of the mosaic, the largest first

  [[nodiscard]] bool empty() const { return owners.empty(); }

  /// How much a panel is preferred on a box of the mosaic, by pixels: 1 where it is shown alone, 0
  /// where another is or none is preferred, smooth between. Empty: 0 everywhere.
  [[nodiscard]] Plane preference(PanelIndex panel, const Box& box) const;
};

/// Compares the panels of each link on their sketches, smoothed to the blur of a mosaic's wide
/// band, in the light of the mosaic. Light moved where the difference, less that of its
/// surroundings (cloud and glare differ there too), is more than a tenth of the light around and
/// several times what is usual in this overlap. Each connected place goes to the panel that shows
/// it deepest inside; what that one does not show to the next.
/// @param links  between panels of the mosaic. @param brightness  see Layout.
[[nodiscard]] MovedLight moved_light(Size mosaic, const std::vector<Sketch>& sketches,
                                     const std::vector<PanelMap>& maps,
                                     const std::vector<Link>& links,
                                     const std::vector<std::vector<Brightness>>& brightness);

}  // namespace lull::mosaic
