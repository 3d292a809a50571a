#include "draw/plot.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace lull::draw;

TEST_SUITE("draw/plot") {
  TEST_CASE("axes reach over all values, and their ticks are even") {
    for (const double low : {-1e6, -7.3, 0.0, 0.0123, 99.9}) {
      for (const double range : {0.0, 1e-5, 0.7, 1.0, 33.0, 1e7}) {
        CAPTURE(low);
        CAPTURE(range);
        const PlotAxis axis = axis_over("", low, low + range);
        CHECK(axis.low <= low);
        CHECK(axis.high >= low + range);
        const auto ticks = plot_ticks(axis);
        REQUIRE(ticks.size() >= 3);
        CHECK(ticks.size() <= 8);
        const double step = ticks[1] - ticks[0];
        // Doubles of the size of `low` in steps of `range`.
        const double rounding = 1e-6 * step + 1e-9 * std::abs(low);
        CHECK(std::abs(ticks.front() - axis.low) < rounding);
        CHECK(std::abs(ticks.back() - axis.high) < rounding);
      }
    }
    const PlotAxis decades = axis_over("", 1e-3, 1e3, PlotScale::logarithmic);
    CHECK(plot_ticks(decades).size() == 7);
  }
}
