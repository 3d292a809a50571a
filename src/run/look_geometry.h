#pragma once

#include "run/look.h"

namespace lull::run {

// The options of a look that move what is seen, for look_options().

[[nodiscard]] Option<Look> channel_offsets_option();

/// Rotation and flip.
[[nodiscard]] OptionTable<Look> orientation_options();

}  // namespace lull::run
