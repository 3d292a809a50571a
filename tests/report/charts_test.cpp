#include "report/charts.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

using namespace lull::report;

TEST_SUITE("report/charts") {
  TEST_CASE("charts leave out what is no number and keep five digits") {
    Plot plot{"x", "y", {}, false, {1.0 / 3.0, 123456.789}, {}, {}};
    plot.series.push_back({"a", "line", 1, {0.5, std::numeric_limits<double>::quiet_NaN()}});
    const auto json = to_json({"a", "", "", "", plot});
    CHECK(json.at("xs").dump() == "[0.33333,123460.0]");
    CHECK(json.at("series")[0].at("ys").dump() == "[0.5,null]");
  }

  TEST_CASE("arrows are as long as their places are apart, whatever the displacements") {
    for (const double factor : {0.01, 1.0, 50.0}) {
      Arrows arrows{{160, 90}, {}, {{3, {}}}};
      for (int i = 0; i < 144; ++i) {
        arrows.places.push_back({10.0 * (i % 16), 10.0 * (i / 16)});
        arrows.frames[0].at.push_back({factor, 0});
      }
      const auto json = to_json({"a", "", "", "", arrows});
      CAPTURE(factor);
      CHECK(std::abs(json.at("arrow").get<double>() * factor - 7) < 0.01);  // 0.7 of 10 px
    }
  }
}
