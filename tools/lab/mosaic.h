#pragma once

#include <filesystem>

#include "core/progress.h"
#include "lab/mosaic_plan.h"

namespace lull::lab {

/// Writes the panels of a mosaic, panel_01.linear.fits and so on, as linear stacks; truth.fits, the
/// scene as a perfect telescope would show it; and truth.json: size and disc of the scene, and of
/// each panel its file, gain, offset, blur, pose, and the places of the scene that it shows at
/// every 32 px and at its last column and row. All or none appear.
/// @throws UsageError, OutputError, Interrupted.
void simulate_mosaic(const MosaicParameters& parameters, const std::filesystem::path& folder,
                     const Progress& progress);

}  // namespace lull::lab
