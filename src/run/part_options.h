#pragma once

#include "calibrate/part_of_capture.h"
#include "run/option.h"

namespace lull::run {

/// --crop, --frames and --exclude, for every verb that reads frames.
[[nodiscard]] OptionTable<calibrate::Part> part_options();

}  // namespace lull::run
