#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <span>
#include <vector>

/// Order statistics. One rule for what falls between two values of a sample: linear interpolation,
/// type 7 of Hyndman & Fan 1996 (Am. Stat. 50, 361), the default of NumPy. The share q of n sorted
/// values x[0] ... x[n - 1] is x at place q (n - 1).
///
/// Large samples of pixels have a second rule, named by lower_ and upper_: the value of the sample
/// at the next lower or upper place, NumPy's methods 'lower' and 'higher'. It needs one selection
/// instead of two and keeps to values that occur, integers for one. Among thousands of pixels, both
/// rules agree far within the noise.
namespace lull {

/// Standard deviation over median absolute deviation, of a Gaussian: 1 over its upper quartile,
/// 0.6744898. To seven digits: more would change nothing but the last bit of every result.
inline constexpr double kMadToSigma = 1.482602;

/// Value at share q of values in rising order. Not empty; q in [0, 1].
template <class T>
[[nodiscard]] T quantile_of_sorted(std::span<const T> sorted, double q) {
  const double at = q * static_cast<double>(sorted.size() - 1);
  const auto below = static_cast<std::size_t>(at);
  const std::size_t above = std::min(below + 1, sorted.size() - 1);
  return static_cast<T>(std::lerp(static_cast<double>(sorted[below]),
                                  static_cast<double>(sorted[above]),
                                  at - static_cast<double>(below)));
}

template <class T>
[[nodiscard]] T quantile_of_sorted(const std::vector<T>& sorted, double q) {
  return quantile_of_sorted(std::span<const T>(sorted), q);
}

/// Value at share q of values in any order; 0 when there are none. q in [0, 1]. O(n).
template <class T>
[[nodiscard]] T quantile(std::vector<T> values, double q) {
  if (values.empty()) return 0;
  const auto place =
      static_cast<std::ptrdiff_t>(std::floor(q * static_cast<double>(values.size() - 1)));
  const auto below = values.begin() + place;
  std::nth_element(values.begin(), below, values.end());
  if (below + 1 != values.end())
    std::iter_swap(below + 1, std::min_element(below + 1, values.end()));
  return quantile_of_sorted(std::span<const T>(values), q);
}

/// Median; of an even number of values the mean of the middle two; 0 when there are none. O(n).
template <class T>
[[nodiscard]] T median(std::vector<T> values) {
  return quantile(std::move(values), 0.5);
}

/// Standard deviation of a Gaussian sample from the median of |value - centre|; 0 when there are no
/// values. O(n).
template <class T>
[[nodiscard]] double sigma_about(std::vector<T> values, T centre) {
  for (T& value : values) value = std::abs(value - centre);
  return kMadToSigma * static_cast<double>(median(std::move(values)));
}

/// The value at place floor(q (n - 1)) of the sorted values. Reorders them. Not empty. O(n).
template <class T>
[[nodiscard]] T lower_quantile(std::vector<T>& values, double q) {
  const auto place = static_cast<std::ptrdiff_t>(q * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + place, values.end());
  return values[static_cast<std::size_t>(place)];
}

/// Median; of an even number of values the upper of the middle two. Reorders them. Not empty. O(n).
template <class T>
[[nodiscard]] T upper_median(std::vector<T>& values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

/// The same of values that may be lost.
template <class T>
[[nodiscard]] T upper_median(std::vector<T>&& values) {
  return upper_median(values);
}

/// Reliability of a whole from the correlation r of its two halves, 2r / (1 + r) (Spearman 1910
/// and Brown 1910, British Journal of Psychology 3, 271 and 296): its squared correlation with what
/// it measures. The formula holds for halves that measure the same, so r <= 0 gives 0: nothing in
/// common. NaN stays NaN.
[[nodiscard]] inline double reliability_of_whole(double half_correlation) {
  return half_correlation <= 0 ? 0 : 2 * half_correlation / (1 + half_correlation);
}

}  // namespace lull
