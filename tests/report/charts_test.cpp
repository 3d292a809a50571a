#include "report/charts.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

using namespace lull;
using namespace lull::report;

namespace {

constexpr double kNoNumber = std::numeric_limits<double>::quiet_NaN();

}  // namespace

TEST_SUITE("report/charts") {
  TEST_CASE("charts leave out what is no number and keep five digits") {
    const draw::PlotSeries series{"a", {{1.0 / 3.0, 0.5}, {123456.789, kNoNumber}}};
    const auto json = to_json({"a", "", "", draw::Plot{"", {"x"}, {"y"}, {series}}});
    CHECK(json.at("xs").dump() == "[0.33333,123460.0]");
    CHECK(json.at("series")[0].at("ys").dump() == "[0.5,null]");
  }

  TEST_CASE("a plot becomes what the page's script reads") {
    draw::Plot plot{"Title", {"x", draw::PlotScale::linear, draw::PlotRange{0, 9}}, {"y"}, {}};
    plot.y.scale = draw::PlotScale::logarithmic;
    plot.right = {"z"};
    plot.vertical_lines = {{4, "limit"}};
    plot.series = {{"a", {{1, 10}, {2, kNoNumber}}, draw::PlotMark::dotted, draw::PlotColour::gray},
                   {"b", {{2, 20}}, draw::PlotMark::reference},
                   {"c", {{3, 30}}, draw::PlotMark::rings, {}, draw::PlotSide::right}};
    const Chart chart{"a", "", "", plot};
    CHECK(chart.title() == "Title");
    const auto json = to_json(chart);
    CHECK(json.at("kind") == "plot");
    CHECK(json.at("x").dump() == R"({"label":"x","range":[0.0,9.0],"scale":"linear"})");
    CHECK(json.at("y").dump() == R"({"label":"y","scale":"logarithmic"})");
    CHECK(json.at("right").at("label") == "z");
    CHECK(json.at("lines").dump() == R"([{"name":"limit","x":4.0}])");
    CHECK(json.at("xs").dump() == "[1.0,2.0,3.0]");
    const auto& series = json.at("series");
    // A line that breaks is not a series without a point there.
    CHECK(series[0].at("ys").dump() == "[10.0,null,false]");
    CHECK(series[1].at("ys").dump() == "[false,20.0,false]");
    CHECK(series[2].at("ys").dump() == "[false,false,30.0]");
    const auto all = [&](const char* key) {
      return series[0].at(key).get<std::string>() + " " + series[1].at(key).get<std::string>() +
             " " + series[2].at(key).get<std::string>();
    };
    CHECK(all("mark") == "dotted reference rings");
    // References take no colour from the others.
    CHECK(all("colour") == "gray soft orange");
    CHECK(all("side") == "left left right");
  }

  TEST_CASE("arrows are as long as their places are apart, whatever the displacements") {
    for (const double factor : {0.01, 1.0, 50.0}) {
      Arrows arrows{"", {160, 90}, {}, {{3, {}}}};
      for (int i = 0; i < 144; ++i) {
        const int row = i / 16;
        arrows.places.push_back({10.0 * (i % 16), 10.0 * row});
        arrows.frames[0].at.push_back({factor, 0});
      }
      const auto json = to_json({"a", "", "", arrows});
      CAPTURE(factor);
      CHECK(std::abs(json.at("arrow").get<double>() * factor - 7) < 0.01);  // 0.7 of 10 px
    }
  }
}
