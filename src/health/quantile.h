#pragma once

#include <algorithm>
#include <cstddef>
#include <span>
#include <vector>

namespace lull::health {

inline constexpr double kMadToSigma = 1.482602;  ///< median absolute deviation of a Gaussian

/// Value below which a share q of the sorted values lies, linear between neighbours. Not empty.
[[nodiscard]] inline double quantile_of_sorted(std::span<const double> sorted, double q) {
  const double at = q * static_cast<double>(sorted.size() - 1);
  const auto below = static_cast<std::size_t>(at);
  const std::size_t above = std::min(below + 1, sorted.size() - 1);
  const double share = at - static_cast<double>(below);
  return sorted[below] * (1 - share) + sorted[above] * share;
}

/// The same of values in any order; 0 when there are none.
[[nodiscard]] inline double quantile(std::vector<double> values, double q) {
  if (values.empty()) return 0;
  std::sort(values.begin(), values.end());
  return quantile_of_sorted(values, q);
}

}  // namespace lull::health
