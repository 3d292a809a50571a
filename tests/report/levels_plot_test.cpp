#include "report/levels_plot.h"

#include <doctest/doctest.h>

#include <cmath>

#include "core/plane.h"

using namespace lull;
using namespace lull::report;

namespace {

// Levels i / 100 of pixel i.
Plane ramp() {
  Plane plane(100, 3);
  for (int y = 0; y < 3; ++y) {
    for (int x = 0; x < 100; ++x) plane.row(y)[x] = static_cast<float>(x) / 100;
  }
  return plane;
}

double pixels_in(const draw::PlotSeries& series) {
  double sum = 0;
  for (const auto& point : series.points) sum += std::isfinite(point.y) ? point.y : 0;
  return sum;
}

}  // namespace

TEST_SUITE("report/levels_plot") {
  TEST_CASE("every pixel is counted, at its level") {
    const Plane plane = ramp();
    const auto plot = levels_plot({{plane.view()}}, LevelMarks{0.1, 1.5});
    REQUIRE(plot.series.size() == 1);
    CHECK(pixels_in(plot.series[0]) == 300);
    for (const auto& point : plot.series[0].points) {
      // Bins are narrower than the steps of the ramp: 3 pixels of one level, or none.
      if (std::isfinite(point.y)) CHECK(point.y == 3);
    }
  }

  TEST_CASE("black and white are marked, also beyond all levels") {
    const Plane plane = ramp();
    const auto plot = levels_plot({{plane.view()}}, LevelMarks{0.1, 1.5});
    REQUIRE(plot.vertical_lines.size() == 2);
    CHECK(plot.vertical_lines[0].x == 0.1);
    CHECK(plot.vertical_lines[1].x == 1.5);
    REQUIRE(plot.x.range);
    CHECK(plot.x.range->low < 0);
    CHECK(plot.x.range->high > 1.5);
    CHECK(levels_plot({{plane.view()}}, std::nullopt).vertical_lines.empty());
  }

  TEST_CASE("colours have a series each, an even picture an axis") {
    const Plane plane = ramp();
    Plane even(4, 4);
    for (int y = 0; y < 4; ++y) std::fill(even.row(y), even.row(y) + 4, 0.5F);
    const auto colour = levels_plot({{plane.view(), plane.view(), plane.view()}}, std::nullopt);
    CHECK(colour.series.size() == 3);
    const auto plot = levels_plot({{even.view()}}, std::nullopt);
    CHECK(pixels_in(plot.series[0]) == 16);
    CHECK(plot.x.range->high > plot.x.range->low);
  }
}
