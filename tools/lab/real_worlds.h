#pragma once

#include <vector>

#include "lab/presets.h"

namespace lull::lab {

/// Captures as they are recorded in practice: 1,000 frames and more, 8 bit, tracking that wanders,
/// air that gusts and calms, thin cloud, low contrast. For figures, not for tests.
[[nodiscard]] std::vector<Preset> real_worlds();

}  // namespace lull::lab
