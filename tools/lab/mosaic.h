#pragma once

#include <filesystem>

#include "core/progress.h"
#include "lab/mosaic_plan.h"

namespace lull::lab {

/// Writes the panels of a mosaic, panel_01.linear.fits and so on, as linear stacks, or as captures
/// with what add_capture() writes beside them; truth.fits, the scene as a perfect telescope would
/// show it; and truth.json: size and disc of the scene, and of each panel its file, gain, offset,
/// air, pose, and the places of the scene that it shows at every 32 px and at its last column and
/// row. Where the terminator moves, moment_01.fits and so on are that part of truth.fits at the
/// time of each panel. All or none appear. Of a Moon, memory takes 8 bytes a pixel of the scene,
/// and some panels.
/// @throws UsageError, OutputError, Interrupted.
void simulate_mosaic(const MosaicParameters& parameters, const std::filesystem::path& folder,
                     const Progress& progress);

}  // namespace lull::lab
