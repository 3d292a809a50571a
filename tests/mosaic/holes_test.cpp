#include "mosaic/holes.h"

#include <doctest/doctest.h>

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
}
