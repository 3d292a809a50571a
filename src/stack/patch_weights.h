#pragma once

#include <vector>

#include "align/shift_field.h"
#include "quality/ranking.h"

namespace lull::stack {

struct PatchWeightOptions {
  double patch_px = 16;  ///< standard deviation of the window over which sharpness is averaged
  double power = 3;      ///< weight = sharpness to this power
};

/// Weight of one frame on the nodes of its field: its sharpness around each node, relative to
/// `typical_sharpness` (a typical detail energy over brightness squared), to a power. Where the
/// noise makes the sharpness of a patch uncertain the weights even out.
/// @param cells of the frame, in light. @param noise_energy what noise adds to their energy.
[[nodiscard]] std::vector<float> patch_weights(const quality::CellMeasure& cells,
                                               double noise_energy, double brightness,
                                               double object_level, double typical_sharpness,
                                               const align::ShiftField& field,
                                               const PatchWeightOptions& options);

}  // namespace lull::stack
