#pragma once

#include <algorithm>

namespace lull {

/// The value limited to [0, high]; NaN counts as 0, which std::clamp() would pass on.
template <class T>
[[nodiscard]] constexpr T limited(T value, T high) {
  return value > 0 ? std::min(value, high) : T{0};
}

}  // namespace lull
