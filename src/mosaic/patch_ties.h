#pragma once

#include <vector>

#include "mosaic/panel_map.h"
#include "mosaic/readable.h"
#include "mosaic/tie.h"

namespace lull::mosaic {

struct PatchSearch {
  int window_px = 64;   ///< side of a patch, px of the mosaic
  int spacing_px = 48;  ///< of their middles
  int reach_px = 6;     ///< furthest shift
};

/// Where two panels show the same, by phase correlation of patches all over their overlap
/// (align::PatchCorrelator), both read on the grid of the mosaic. A patch without detail gives no
/// tie.
[[nodiscard]] std::vector<Tie> patch_ties(const Readable& first, const PanelMap& first_map,
                                          const Readable& second, const PanelMap& second_map,
                                          const PatchSearch& search);

}  // namespace lull::mosaic
