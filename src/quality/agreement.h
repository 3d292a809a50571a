#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace lull::quality {

/// How well two rankings of the same frames agree. Values are finite; equal ones share a rank.

/// Ranks from 1, lowest first; equal values get the mean of the ranks that they take up together.
[[nodiscard]] std::vector<double> mid_ranks(std::span<const double> values);

/// Spearman's rho: the product-moment correlation of mid-ranks, -1 to 1 (Spearman 1904, American
/// Journal of Psychology 15, 72). Equal lengths. O(n log n).
/// @return NaN for fewer than 2 values, or when all of one side are equal: no ranking, no answer.
[[nodiscard]] double spearman(std::span<const double> a, std::span<const double> b);

/// Kendall's tau-b: pairs in the same order less pairs in opposite order, over the geometric mean
/// of the pairs that are not tied on either side; -1 to 1 (Kendall 1945, Biometrika 33, 239), by
/// merge sort (Knight 1966, Journal of the American Statistical Association 61, 436). Equal
/// lengths. O(n log n). @return NaN as spearman().
[[nodiscard]] double kendall_tau_b(std::span<const double> a, std::span<const double> b);

/// Bounds of a figure, both NaN where there is no answer.
struct Interval {
  double low = 0;
  double high = 0;
};

/// 95% confidence interval of Spearman's rho over n pairs: Fisher's z = atanh(rho), whose standard
/// error is sqrt((1 + rho^2 / 2) / (n - 3)) (Bonett & Wright 2000, Psychometrika 65, 23). Pairs
/// count as independent. No answer for fewer than 4 pairs.
[[nodiscard]] Interval spearman_interval(double rho, std::size_t pairs);

/// Part of the quality that a choice by score misses: 1 - the mean truth of the chosen over the
/// mean truth of as many of the best. 0 = as good as possible.
/// @param truth at least 0, higher is better; as many as scores, at least one.
/// @param share of the values to choose, in (0, 1]; rounded to whole ones, at least one. Equal
///        scores go by position, as in rank().
/// @return NaN when the best are all 0.
[[nodiscard]] double kept_loss(std::span<const double> scores, std::span<const double> truth,
                               double share);

}  // namespace lull::quality
