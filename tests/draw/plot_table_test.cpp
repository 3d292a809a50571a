#include "draw/plot_table.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>

using namespace lull::draw;

namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();

Plot plot_of(std::vector<PlotSeries> series) { return {"", {}, {}, std::move(series)}; }

}  // namespace

TEST_SUITE("draw/plot_table") {
  TEST_CASE("series with x values of their own share one rising list") {
    const auto table = table_of(plot_of({{"a", {{3, 30}, {1, 10}, {2, kNothing}, {kNothing, 5}}},
                                         {"b", {{2, 21}, {4, 41}}},
                                         {"c", {}}}));
    CHECK(table.xs == std::vector<double>{1, 2, 3, 4});
    REQUIRE(table.ys.size() == 3);
    CHECK(table.ys[0][0] == 10);
    REQUIRE(table.ys[0][1]);
    CHECK(std::isnan(*table.ys[0][1]));
    CHECK(table.ys[0][2] == 30);
    CHECK_FALSE(table.ys[0][3]);
    CHECK(table.ys[1] == std::vector<std::optional<double>>{std::nullopt, 21, std::nullopt, 41});
    CHECK(table.ys[2] == std::vector<std::optional<double>>(4));
  }

  TEST_CASE("no point is lost where a series has an x value twice") {
    const auto table = table_of(plot_of({{"a", {{1, 10}, {1, 11}, {2, 20}}}, {"b", {{1, 5}}}}));
    CHECK(table.xs == std::vector<double>{1, 1, 2});
    CHECK(table.ys[0] == std::vector<std::optional<double>>{10, 11, 20});
    CHECK(table.ys[1] == std::vector<std::optional<double>>{5, std::nullopt, std::nullopt});
  }
}
