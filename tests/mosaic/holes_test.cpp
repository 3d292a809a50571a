#include "mosaic/holes.h"

#include <doctest/doctest.h>

#include <cmath>

#include "mosaic/panels.h"

using namespace lull;

TEST_SUITE("mosaic/holes") {
  TEST_CASE("holes are what panels surround, the largest first; the edge is none") {
    Plane covered(Size{200, 120});
    covered.fill(1);
    const auto hide = [&](const Box& box) {
      for (int y = box.y0; y < box.y1; ++y)
        for (int x = box.x0; x < box.x1; ++x) covered.row(y)[x] = 0;
    };
    hide({20, 30, 30, 40});     // 100 px
    hide({80, 50, 120, 70});    // 800 px
    hide({150, 10, 152, 12});   // too small
    hide({180, 90, 200, 120});  // reaches the edge
    const auto holes = mosaic::holes_in(covered.view(), 50);
    REQUIRE(holes.size() == 2);
    CHECK(holes[0].box == Box{80, 50, 120, 70});
    CHECK(holes[0].area_px == 800);
    CHECK(holes[0].middle.x_px == doctest::Approx(99.5));
    CHECK(holes[0].middle.y_px == doctest::Approx(59.5));
    CHECK(holes[1].box == Box{20, 30, 30, 40});
    covered.fill(0);
    CHECK(mosaic::holes_in(covered.view(), 1).empty());
  }

  TEST_CASE("what no panel shows of a disc is told where most of it is shown, beyond them too") {
    const mosaic::LimbCurve disc{{500, 400, 380}, {}};
    std::vector<mosaic::PanelMap> maps;
    for (const auto& [left, top] : {std::pair{0, 0}, {450, 0}, {0, 350}, {450, 350}})
      maps.push_back(test::upright({500, 470}, left, top));
    CHECK(mosaic::holes_in_disc(disc, maps, {0, 1, 2, 3}, 50).empty());
    // Left of all panels, and two fifths of a corner.
    maps[3] = test::upright({500, 470}, 450, 150);
    for (mosaic::PanelMap& map : maps) map.middle += std::complex<double>(150, 0);
    const auto holes = mosaic::holes_in_disc(disc, maps, {0, 1, 2, 3}, 50);
    REQUIRE(holes.size() == 2);
    for (const mosaic::Hole& hole : holes) {
      CAPTURE(hole.box.x0);
      if (hole.middle.x_px < 200) {
        // The segment of a circle, r^2 acos(d / r) - d sqrt(r^2 - d^2).
        const double area =
            380 * 380 * std::acos(350 / 380.0) - 350 * std::sqrt(380 * 380 - 350 * 350);
        CHECK(hole.area_px == doctest::Approx(area).epsilon(0.05));
        CHECK(std::abs(hole.box.x0 - 120) <= 3);
        CHECK(std::abs(hole.box.x1 - 150) <= 3);
        CHECK(hole.middle.y_px == doctest::Approx(400).epsilon(0.01));
      } else {
        CHECK(std::abs(hole.box.y0 - 620) <= 3);
        CHECK(std::abs(hole.box.x0 - 650) <= 3);
      }
    }
    CHECK(mosaic::holes_in_disc(disc, maps, {0, 1}, 50).empty());
  }
}
