#pragma once

#include <vector>

#include "files/metadata.h"
#include "run/opening.h"
#include "run/stack_outcome.h"

namespace lull::run {

/// Cards that record how a stack was made, the same for any finish.
[[nodiscard]] std::vector<files::Card> stack_cards(const StackOutcome& outcome,
                                                   const Opened& opened);

}  // namespace lull::run
