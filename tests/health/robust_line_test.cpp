#include "health/robust_line.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <vector>

namespace {

using lull::health::LinePoint;
using lull::health::robust_line;

std::vector<LinePoint> points_of(const std::vector<double>& values) {
  std::vector<LinePoint> points;
  points.reserve(values.size());
  for (const double value : values) points.push_back({static_cast<double>(points.size()), value});
  return points;
}

}  // namespace

TEST_SUITE("health/robust_line") {
  TEST_CASE("slope and bounds are those of scipy.stats.theilslopes") {
    // scipy 1.10.1, theilslopes(y, x, 0.95): slope 0.475, from 0.4 to 0.6. One point is wild, and
    // neighbouring residuals do not resemble each other. scipy rounds ranks to whole numbers.
    const auto line =
        robust_line(points_of({1.3, 1.1, 2.2, 2.4, 3.5, 2.9, 4.1, 4.3, 14.0, 5.2, 6.4, 6.0}));
    REQUIRE(line);
    CHECK(std::abs(line->slope - 0.475) < 1e-9);
    CHECK(std::abs(line->slope_low - 0.4) < 0.02);
    CHECK(std::abs(line->slope_high - 0.6) < 0.02);
    CHECK(line->significant());
  }

  TEST_CASE(
      "where there is no trend, 95% of the bounds include 0, also when neighbours are correlated") {
    // By construction. 400 trials: 95% +- 3.3% is three standard deviations. The first-order
    // correction is known to be a little too narrow for short series, hence 90%.
    for (const double alike : {0.0, 0.5}) {
      CAPTURE(alike);
      std::mt19937 random(20240817);
      std::normal_distribution<double> normal;
      int covered = 0;
      for (int trial = 0; trial < 400; ++trial) {
        std::vector<double> values;
        double state = normal(random);
        for (int i = 0; i < 48; ++i) {
          values.push_back(state);
          state = alike * state + std::sqrt(1 - alike * alike) * normal(random);
        }
        covered += robust_line(points_of(values))->significant() ? 0 : 1;
      }
      CHECK(covered >= (alike > 0 ? 350 : 367));
      CHECK(covered <= 395);
    }
  }

  TEST_CASE("too few points, or all at one place, make no line") {
    CHECK(!robust_line(points_of({1, 2, 3, 4, 5, 6, 7})));
    CHECK(!robust_line(std::vector<LinePoint>(20, LinePoint{1, 2})));
  }
}
