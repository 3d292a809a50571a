#include "health/robust_line.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "core/statistics.h"

namespace lull::health {

namespace {

constexpr std::size_t kFewestPoints = 8;
constexpr double kTwoSided95 = 1.959964;  // of the normal distribution
constexpr double kMostAlike = 0.9;        // beyond, the first-order correction means nothing

// Correlation of each residual with the next.
double likeness(std::span<const LinePoint> points, const RobustLine& line) {
  double squares = 0;
  double products = 0;
  double before = 0;
  for (const LinePoint& point : points) {
    const double residual = point.y - line.at(point.x);
    squares += residual * residual;
    products += residual * before;
    before = residual;
  }
  return squares > 0 ? std::clamp(products / squares, 0.0, kMostAlike) : 0;
}

}  // namespace

std::optional<RobustLine> robust_line(std::span<const LinePoint> points) {
  if (points.size() < kFewestPoints) return std::nullopt;
  std::vector<double> slopes;
  slopes.reserve(points.size() * (points.size() - 1) / 2);
  for (std::size_t i = 0; i < points.size(); ++i) {
    for (std::size_t j = i + 1; j < points.size(); ++j) {
      const double run = points[j].x - points[i].x;
      if (run > 0) slopes.push_back((points[j].y - points[i].y) / run);
    }
  }
  if (slopes.size() < kFewestPoints) return std::nullopt;
  std::sort(slopes.begin(), slopes.end());
  RobustLine line;
  line.slope = quantile_of_sorted(slopes, 0.5);
  std::vector<double> intercepts;
  for (const LinePoint& point : points) intercepts.push_back(point.y - line.slope * point.x);
  line.intercept = quantile(std::move(intercepts), 0.5);

  const auto n = static_cast<double>(points.size());
  const double alike = likeness(points, line);
  const double variance =
      n * (n - 1) * (2 * n + 5) / 18 * (1 + alike) / (1 - alike);  // of Kendall's S
  const auto pairs = static_cast<double>(slopes.size());
  const double half_width = kTwoSided95 * std::sqrt(variance) / 2 / pairs;
  line.slope_low = quantile_of_sorted(slopes, std::max(0.5 - half_width, 0.0));
  line.slope_high = quantile_of_sorted(slopes, std::min(0.5 + half_width, 1.0));
  return line;
}

}  // namespace lull::health
