#pragma once

#include <string>
#include <vector>

#include "app/stack_run.h"
#include "files/picture_file.h"

namespace lull::app {

/// What a finished run tells on standard output.
/// @param clipped  what the 16-bit encoding had to limit.
void print_summary(const StackRun& run, const std::vector<std::string>& notes,
                   const files::Clipped& clipped);

}  // namespace lull::app
