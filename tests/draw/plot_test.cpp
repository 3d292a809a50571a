#include "draw/plot.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>

using namespace lull::draw;

TEST_SUITE("draw/plot") {
  TEST_CASE("axes reach over all values, and their ticks are even") {
    for (const double low : {-1e6, -7.3, 0.0, 0.0123, 99.9}) {
      for (const double range : {0.0, 1e-5, 0.7, 1.0, 33.0, 1e7}) {
        CAPTURE(low);
        CAPTURE(range);
        const PlotAxis axis = axis_over("", low, low + range);
        REQUIRE(axis.range);
        CHECK(axis.range->low <= low);
        CHECK(axis.range->high >= low + range);
        const auto ticks = plot_ticks(axis);
        REQUIRE(ticks.size() >= 3);
        CHECK(ticks.size() <= 8);
        const double step = ticks[1] - ticks[0];
        // Doubles of the size of `low` in steps of `range`.
        const double rounding = 1e-6 * step + 1e-9 * std::abs(low);
        CHECK(std::abs(ticks.front() - axis.range->low) < rounding);
        CHECK(std::abs(ticks.back() - axis.range->high) < rounding);
      }
    }
    const PlotAxis decades = axis_over("", 1e-3, 1e3, PlotScale::logarithmic);
    CHECK(plot_ticks(decades).size() == 7);
  }

  TEST_CASE("an axis without a range gets one over the values that it can show") {
    constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
    Plot plot{"", {"x"}, {"y", PlotScale::logarithmic}, {}};
    plot.right = {"z"};
    plot.series = {{"a", {{1, 20}, {8, -3}, {9, 500}, {kNothing, 0}}},
                   {"b", {{2, -7}, {3, kNothing}}, PlotMark::dots, {}, PlotSide::right}};
    const Plot ranged = with_ranges(plot);
    REQUIRE((ranged.x.range && ranged.y.range && ranged.right->range));
    CHECK(ranged.x.range->low == 0);
    CHECK(ranged.x.range->high == 10);
    CHECK(ranged.y.range->low == 20);
    CHECK(ranged.y.range->high == 500);
    CHECK(ranged.right->range->low < -7);
    CHECK(ranged.right->range->high > -7);
    plot.x.range = PlotRange{3, 4};
    CHECK(with_ranges(plot).x.range->high == 4);
    // Without values any range will do, as long as there is one.
    const Plot none = with_ranges({"", {"x"}, {"y", PlotScale::logarithmic}, {}});
    CHECK(none.x.range->high > none.x.range->low);
    CHECK(none.y.range->high > none.y.range->low);
    CHECK(none.y.range->low > 0);
  }

  TEST_CASE("references take no colour from the series after them") {
    const Plot plot{"", {}, {}, {{"a", {}}, {"b", {}, PlotMark::reference}, {"c", {}}}};
    CHECK(coloured_before(plot, 0) == 0);
    CHECK(coloured_before(plot, 2) == 1);
  }
}
