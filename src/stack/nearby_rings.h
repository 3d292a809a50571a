#pragma once

#include <algorithm>
#include <cstddef>

namespace lull::stack {

/// Sum of value(k) over a ring of frequencies and the two on either side of it, of `rings` rings.
template <class Value>
[[nodiscard]] double sum_nearby(std::size_t ring, std::size_t rings, const Value& value) {
  constexpr std::size_t kEitherSide = 2;
  const std::size_t first = ring > kEitherSide ? ring - kEitherSide : 0;
  const std::size_t last = std::min(ring + kEitherSide, rings - 1);
  double total = 0;
  for (std::size_t k = first; k <= last; ++k) total += value(k);
  return total;
}

}  // namespace lull::stack
