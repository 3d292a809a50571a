#pragma once

#include <string>

#include "files/picture.h"
#include "run/finish_input.h"
#include "run/finish_picture.h"
#include "run/merge_outcome.h"

namespace lull::run {

/// The page of a merge. @param input  the joined stack. @param shared  the copy to share, or empty.
[[nodiscard]] std::string merge_report(const MergeOutcome& outcome, const FinishInput& input,
                                       const Finished& finished, const files::Picture& shared);

/// How one stack came onto the grid: "shift 1.20, -0.41 px, turn 0.05 deg, scale 1.0012, bent by
/// 0.08 px rms".
[[nodiscard]] std::string placed_text(const merge::Part& part);

/// Whether the others were brought onto this stack's grid.
[[nodiscard]] bool is_grid(const MergeOutcome& outcome, std::size_t part);

}  // namespace lull::run
