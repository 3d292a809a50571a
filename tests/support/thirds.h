#pragma once

#include <array>
#include <string>

#include "support/temporary_folder.h"

namespace lull::test {

/// Three linear stacks of one ground through different air: the sample `highland` in thirds, made
/// once for the whole program. Each has its own light and shift.
[[nodiscard]] const std::array<std::string, 3>& stacked_thirds();

}  // namespace lull::test
