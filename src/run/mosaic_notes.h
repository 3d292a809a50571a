#pragma once

#include <optional>
#include <string>
#include <vector>

#include "mosaic/holes.h"
#include "mosaic/layout.h"
#include "run/panel_input.h"

namespace lull::run {

/// What is odd about a mosaic, and what to do: panels of another scale, panels that are much less
/// sharp, panels that hang by one thin overlap, and holes that other panels surround, with where
/// to point the telescope.
/// @param resolution_px  see MosaicOutcome. @param holes  the largest first.
[[nodiscard]] std::vector<std::string> mosaic_notes(
    const std::vector<PanelInput>& panels, const mosaic::Layout& layout,
    const std::vector<std::optional<double>>& resolution_px,
    const std::vector<mosaic::Hole>& holes);

}  // namespace lull::run
