#pragma once

#include <filesystem>
#include <vector>

#include "lab/truth_file.h"

namespace lull::lab {

/// The table of frames beside a truth: NAME.frames.csv for NAME.truth.fits.
/// @throws InputError when it is missing or lacks a column.
[[nodiscard]] std::vector<FrameTruth> read_frame_table(const std::filesystem::path& truth);

/// The shift fields of a truth. @throws InputError when the file is damaged, has none, or has nodes
/// elsewhere than the lab puts them.
[[nodiscard]] std::vector<NodeField> read_fields(const std::filesystem::path& truth);

}  // namespace lull::lab
