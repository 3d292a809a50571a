#pragma once

#include <string>

#include "run/stack_outcome.h"

namespace lull::run {

/// The page that shows the run. Nothing in it depends on when or where it ran.
[[nodiscard]] std::string stack_report(const StackOutcome& run);

}  // namespace lull::run
