#pragma once

#include <vector>

namespace lull::spectrum {

/// Starts of patches of this side that cover [from, to), half a side apart at most. One patch at
/// `from` if there is no room for a whole one.
[[nodiscard]] std::vector<int> patch_starts(int from, int to, int side);

}  // namespace lull::spectrum
