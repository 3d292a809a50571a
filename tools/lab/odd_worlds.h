#pragma once

#include <vector>

#include "lab/presets.h"

namespace lull::lab {

/// Captures in which something is odd: small ones, for tests of what is reported.
[[nodiscard]] std::vector<Preset> odd_worlds();

}  // namespace lull::lab
