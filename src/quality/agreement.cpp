#include "quality/agreement.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numeric>

#include "core/assert.h"

namespace lull::quality {

namespace {

constexpr double kNoAnswer = std::numeric_limits<double>::quiet_NaN();

std::vector<std::size_t> positions(std::size_t count) {
  std::vector<std::size_t> out(count);
  std::iota(out.begin(), out.end(), std::size_t{0});
  return out;
}

double centred_product(std::span<const double> a, std::span<const double> b, double mean) {
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += (a[i] - mean) * (b[i] - mean);
  return sum;
}

std::int64_t pairs_of(std::int64_t count) { return count * (count - 1) / 2; }

// Pairs of equal values in sorted values.
template <class Equal>
std::int64_t tied_pairs(std::size_t count, const Equal& equal) {
  std::int64_t pairs = 0;
  std::int64_t run = 1;
  for (std::size_t i = 1; i < count; ++i) {
    run = equal(i - 1, i) ? run + 1 : 1;
    pairs += run - 1;
  }
  return pairs;
}

// Sorts, and counts the pairs that were in the wrong order. Equal values are in the right order.
std::int64_t sort_counting_swaps(std::span<double> values, std::span<double> scratch) {
  if (values.size() < 2) return 0;
  const std::size_t middle = values.size() / 2;
  const auto left = values.first(middle);
  const auto right = values.subspan(middle);
  std::int64_t swaps = sort_counting_swaps(left, scratch) + sort_counting_swaps(right, scratch);
  std::size_t i = 0;
  std::size_t j = 0;
  for (double& next : scratch.first(values.size())) {
    const bool from_right = i == left.size() || (j < right.size() && right[j] < left[i]);
    if (from_right) swaps += static_cast<std::int64_t>(left.size() - i);
    next = from_right ? right[j++] : left[i++];
  }
  std::copy_n(scratch.begin(), values.size(), values.begin());
  return swaps;
}

double mean_of_first(std::span<const std::size_t> order, std::span<const double> values,
                     std::size_t count) {
  double sum = 0;
  for (const std::size_t i : order.first(count)) sum += values[i];
  return sum / static_cast<double>(count);
}

std::vector<std::size_t> best_first(std::span<const double> values) {
  std::vector<std::size_t> order = positions(values.size());
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t i, std::size_t j) { return values[i] > values[j]; });
  return order;
}

}  // namespace

std::vector<double> mid_ranks(std::span<const double> values) {
  std::vector<std::size_t> order = positions(values.size());
  std::sort(order.begin(), order.end(),
            [&](std::size_t i, std::size_t j) { return values[i] < values[j]; });
  std::vector<double> ranks(values.size());
  for (std::size_t first = 0; first < order.size();) {
    std::size_t end = first + 1;
    while (end < order.size() && values[order[end]] == values[order[first]]) ++end;
    const double shared = 0.5 * static_cast<double>(first + 1 + end);
    for (std::size_t i = first; i < end; ++i) ranks[order[i]] = shared;
    first = end;
  }
  return ranks;
}

double spearman(std::span<const double> a, std::span<const double> b) {
  LULL_ASSERT(a.size() == b.size());
  const std::vector<double> ranks_a = mid_ranks(a);
  const std::vector<double> ranks_b = mid_ranks(b);
  const double mean = 0.5 * static_cast<double>(a.size() + 1);
  const double spread =
      centred_product(ranks_a, ranks_a, mean) * centred_product(ranks_b, ranks_b, mean);
  return spread > 0 ? centred_product(ranks_a, ranks_b, mean) / std::sqrt(spread) : kNoAnswer;
}

double kendall_tau_b(std::span<const double> a, std::span<const double> b) {
  LULL_ASSERT(a.size() == b.size());
  std::vector<std::size_t> order = positions(a.size());
  std::sort(order.begin(), order.end(),
            [&](std::size_t i, std::size_t j) { return a[i] != a[j] ? a[i] < a[j] : b[i] < b[j]; });
  const auto same_a = [&](std::size_t i, std::size_t j) { return a[order[i]] == a[order[j]]; };
  const std::int64_t tied_a = tied_pairs(order.size(), same_a);
  const std::int64_t tied_both = tied_pairs(order.size(), [&](std::size_t i, std::size_t j) {
    return same_a(i, j) && b[order[i]] == b[order[j]];
  });
  std::vector<double> by_a(a.size());
  for (std::size_t i = 0; i < order.size(); ++i) by_a[i] = b[order[i]];
  std::vector<double> scratch(a.size());
  const std::int64_t opposite = sort_counting_swaps(by_a, scratch);
  const std::int64_t tied_b =
      tied_pairs(by_a.size(), [&](std::size_t i, std::size_t j) { return by_a[i] == by_a[j]; });
  const std::int64_t all = pairs_of(static_cast<std::int64_t>(a.size()));
  const std::int64_t same = all - tied_a - tied_b + tied_both - opposite;
  const double untied =
      std::sqrt(static_cast<double>(all - tied_a)) * std::sqrt(static_cast<double>(all - tied_b));
  return untied > 0 ? static_cast<double>(same - opposite) / untied : kNoAnswer;
}

Interval spearman_interval(double rho, std::size_t pairs) {
  constexpr double kTwoSided95 = 1.959963984540054;  // Phi^-1(0.975), computed
  if (!std::isfinite(rho) || pairs < 4) return {kNoAnswer, kNoAnswer};
  const double z = std::atanh(std::clamp(rho, -1.0, 1.0));
  const double error = std::sqrt((1 + rho * rho / 2) / (static_cast<double>(pairs) - 3));
  return {std::tanh(z - kTwoSided95 * error), std::tanh(z + kTwoSided95 * error)};
}

double kept_loss(std::span<const double> scores, std::span<const double> truth, double share) {
  LULL_ASSERT(scores.size() == truth.size() && !scores.empty() && share > 0 && share <= 1);
  const double wanted = std::round(share * static_cast<double>(scores.size()));
  const std::size_t count =
      std::clamp<std::size_t>(static_cast<std::size_t>(wanted), 1, scores.size());
  const double possible = mean_of_first(best_first(truth), truth, count);
  const double reached = mean_of_first(best_first(scores), truth, count);
  return possible > 0 ? 1 - reached / possible : kNoAnswer;
}

}  // namespace lull::quality
