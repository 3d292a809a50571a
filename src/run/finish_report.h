#pragma once

#include <string>

#include "files/picture.h"
#include "run/finish_input.h"
#include "run/finish_outcome.h"
#include "run/finish_picture.h"

namespace lull::run {

/// The page that shows a finish: the picture before and after, its levels, what was done to the
/// detail, and the options. Nothing in it depends on when or where it ran.
/// @param shared  the copy to share; without channels: none.
[[nodiscard]] std::string finish_report(const FinishOutcome& outcome, const FinishInput& input,
                                        const Finished& finished, const files::Picture& shared);

}  // namespace lull::run
