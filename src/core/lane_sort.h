#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <cstddef>

namespace lull {

/// Lists of values side by side: row i holds the i-th value of each list.
template <std::size_t kCount, std::size_t kLanes>
using Lanes = std::array<std::array<float, kLanes>, kCount>;

/// Sorts each list in rising order. The comparisons are the same whatever the values are, so all
/// lists take part in each: Batcher 1968, Sorting networks and their applications, AFIPS 32, 307
/// (odd-even merge sort).
template <std::size_t kCount, std::size_t kLanes>
void sort_lanes(Lanes<kCount, kLanes>& lists) {
  static_assert(std::has_single_bit(kCount));
  const auto order = [&](std::size_t first, std::size_t second) {
    for (std::size_t lane = 0; lane < kLanes; ++lane) {
      const float a = lists[first][lane];
      const float b = lists[second][lane];
      lists[first][lane] = std::min(a, b);
      lists[second][lane] = std::max(a, b);
    }
  };
  for (std::size_t run = 1; run < kCount; run *= 2) {
    for (std::size_t step = run; step > 0; step /= 2) {
      for (std::size_t start = step % run; start + step < kCount; start += 2 * step) {
        for (std::size_t i = start; i < std::min(start + step, kCount - step); ++i) {
          if (i / (2 * run) == (i + step) / (2 * run)) order(i, i + step);
        }
      }
    }
  }
}

}  // namespace lull
