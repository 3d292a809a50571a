#pragma once

#include <vector>

#include "core/progress.h"
#include "mosaic/panel.h"
#include "mosaic/panel_map.h"
#include "mosaic/readable.h"
#include "mosaic/tie.h"
#include "spectrum/radial_filter.h"

namespace lull::mosaic {

/// Gains that bring panels of different air to one blur, ring by ring: the ratio of two panels'
/// amplitudes where both show the same, noise taken off; by least squares over all overlaps, the
/// geometric mean of all panels being the aim. Detail is weakened in full, and raised only as far
/// as it stands out of the noise: gain = 1 + C^2 (ratio - 1), C^2 = signal / (signal + noise);
/// 3-fold at most.
/// @return for each panel, over frequencies of the mosaic in cycles per px, rising; empty for those
/// that stay as they are.
[[nodiscard]] std::vector<std::vector<spectrum::FilterPoint>> gains_to_one_blur(
    const std::vector<PanelMap>& maps, const std::vector<PanelIndex>& group,
    const std::vector<Link>& links, Shelf<Readable>& shelf, const Progress& progress);

}  // namespace lull::mosaic
