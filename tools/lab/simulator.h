#pragma once

#include <filesystem>

#include "core/progress.h"
#include "files/results.h"
#include "lab/frame_maker.h"
#include "lab/parameters.h"

namespace lull::lab {

/// Writes a simulated capture into a folder, and what is known of it: NAME.mkv (or .avi, .nut),
/// NAME.truth.fits, NAME.frames.csv, NAME.json, NAME.fine.truth.fits where pixels are too coarse
/// for the optics, and NAME_dark and NAME_flat where asked for. All appear together when complete.
/// Memory follows the size of the frame; the shift fields of the truth take 8 bytes a node and
/// frame.
/// @return the capture's path. @throws UsageError, InputError, OutputError.
std::filesystem::path simulate(const Parameters& parameters, const std::filesystem::path& folder,
                               const Progress& progress);

/// The same files, to appear with the others of `results`, in a folder that exists.
/// @param given  instead of the scene of the parameters. @throws UsageError, InputError.
void add_capture(const Parameters& parameters, const GivenScene* given,
                 const std::filesystem::path& folder, files::Results& results,
                 const Progress& progress);

}  // namespace lull::lab
