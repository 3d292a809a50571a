#pragma once

#include <string>

#include "files/picture.h"
#include "run/stack_outcome.h"

namespace lull::run {

/// The page that shows the run. Nothing in it depends on when or where it ran.
/// @param shared  the copy to share; without channels: none.
[[nodiscard]] std::string stack_report(const StackOutcome& run, const files::Picture& shared);

}  // namespace lull::run
