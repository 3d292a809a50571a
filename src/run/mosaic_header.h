#pragma once

#include <nlohmann/json.hpp>
#include <vector>

#include "files/metadata.h"
#include "mosaic/layout.h"
#include "run/panel_input.h"
#include "spectrum/frc.h"

namespace lull::run {

/// Cards of the joined linear stack: what all panels say alike, sums of frames, times from the
/// first to the last. In the order of read_stack_cards(), so that `finish` writes the same bytes.
[[nodiscard]] std::vector<files::Card> mosaic_cards(const std::vector<PanelInput>& panels,
                                                    const mosaic::Layout& layout);

/// Where each panel lies, who overlaps whom, and how well they fit: for the recipe and --json.
/// @param covered  share of the rectangle. @param frc  empty for pictures.
[[nodiscard]] nlohmann::json mosaic_figures(const std::vector<PanelInput>& panels,
                                            const mosaic::Layout& layout, double covered,
                                            const spectrum::FrcCurve& frc);

}  // namespace lull::run
