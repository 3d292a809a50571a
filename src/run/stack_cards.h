#pragma once

#include <vector>

#include "files/metadata.h"
#include "run/opening.h"
#include "run/stack_outcome.h"

namespace lull::run {

/// What the header of a stack is to say of its making, whatever the finish.
[[nodiscard]] std::vector<files::Card> stack_cards(const StackOutcome& outcome,
                                                   const Opened& opened);

}  // namespace lull::run
