#pragma once

#include <string>
#include <vector>

#include "files/metadata.h"
#include "merge/join.h"
#include "run/finish_input.h"

namespace lull::run {

/// The stack of one filter out of a linear stack: of one in colour the channel of that number, or
/// for a luminance (3) the mean of its channels.
/// @param name  of it, for messages. @param part  0 red, 1 green, 2 blue, 3 luminance.
[[nodiscard]] merge::FilterStack filter_stack_of(const FinishInput& input, std::size_t part,
                                                 const std::string& name);

/// Reads a linear stack with its half stacks. @throws InputError as read_finish_input() does, and
/// for pictures without half stacks.
[[nodiscard]] FinishInput read_halved_stack(const std::string& path);

/// Cards of a stack joined from others: those of the grid's stack where they tell of the optics,
/// sums of frames, names, and times from the first to the last.
/// @param inputs  red, green, blue, luminance. @param grid  the one whose grid it has.
[[nodiscard]] std::vector<files::Card> joined_cards(const std::vector<FinishInput>& inputs,
                                                    const std::vector<std::string>& names,
                                                    std::size_t grid, const merge::Joined& joined);

}  // namespace lull::run
