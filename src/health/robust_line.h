#pragma once

#include <optional>
#include <span>

namespace lull::health {

struct LinePoint {
  double x = 0;
  double y = 0;
};

/// y = intercept + slope x, with the bounds between which the slope lies with 95% confidence.
struct RobustLine {
  double intercept = 0;
  double slope = 0;
  double slope_low = 0;
  double slope_high = 0;

  [[nodiscard]] double at(double x) const { return intercept + slope * x; }

  /// Whether the slope differs from 0 with 95% confidence.
  [[nodiscard]] bool significant() const { return slope_low > 0 || slope_high < 0; }
};

/// Median of the slopes of all pairs of points, robust to a quarter of outliers, and its confidence
/// interval from the distribution of Kendall's tau (Sen 1968, J. Am. Stat. Assoc. 63, 1379).
/// Correlated neighbours, as the seeing of successive moments, hold less information than
/// independent ones: the variance grows by (1 + r) / (1 - r). r is the correlation of a residual
/// with the next one, where positive (Hamed & Rao 1998, J. Hydrology 204, 182, to first order).
/// @param points ordered by x. None: fewer than 8 points, or all at one x. Cost: O(n^2 log n).
[[nodiscard]] std::optional<RobustLine> robust_line(std::span<const LinePoint> points);

}  // namespace lull::health
