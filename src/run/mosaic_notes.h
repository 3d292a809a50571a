#pragma once

#include <string>
#include <vector>

#include "core/plane.h"
#include "mosaic/layout.h"
#include "run/panel_input.h"

namespace lull::run {

/// What is odd about a mosaic, and what to do: panels of another scale, panels that are much less
/// sharp, panels that hang by one thin overlap, and holes that other panels surround, with where
/// to point the telescope.
/// @param covered  of the mosaic: 1 where a panel shows something, else 0.
[[nodiscard]] std::vector<std::string> mosaic_notes(const std::vector<PanelInput>& panels,
                                                    const mosaic::Layout& layout,
                                                    PlaneView covered);

}  // namespace lull::run
