#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

namespace lull {

/// The value below which a share of the values lies, 0 the least, 1 the largest; the nearest below.
/// Reorders them. Not empty. O(n).
template <class T>
[[nodiscard]] T value_at(std::vector<T>& values, double share) {
  const auto place = static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + place, values.end());
  return values[static_cast<std::size_t>(place)];
}

/// The middle one; of an even number the upper of the two. Not empty. O(n).
template <class T>
[[nodiscard]] T median(std::vector<T> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

}  // namespace lull
