#pragma once

#include <vector>

#include "lab/presets.h"

namespace lull::lab {

/// Captures of several minutes of a planet that turns, and the same of one that does not: their
/// frames are further apart than those of a camera, so that few of them last long.
[[nodiscard]] std::vector<Preset> turning_worlds();

}  // namespace lull::lab
