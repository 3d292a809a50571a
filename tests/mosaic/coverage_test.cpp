#include "mosaic/coverage.h"

#include <doctest/doctest.h>

#include <cmath>
#include <utility>

using namespace lull;

namespace {

// All of it in parts of odd sides, with a hole; the right edge not shown.
mosaic::Coverage covered_but(Size size, const Box& hole, int right) {
  mosaic::Coverage out(size);
  const int side = 397;
  for (int y = 0; y < size.height_px; y += side) {
    for (int x = 0; x < size.width_px; x += side) {
      Plane part(std::min(side, size.width_px - x), std::min(side, size.height_px - y));
      for (int v = 0; v < part.height(); ++v) {
        for (int u = 0; u < part.width(); ++u) {
          const bool hidden = x + u >= right || (x + u >= hole.x0 && x + u < hole.x1 &&
                                                 y + v >= hole.y0 && y + v < hole.y1);
          part.row(v)[u] = hidden ? 0.0F : 1.0F;
        }
      }
      out.add(std::as_const(part).view(), x, y);
    }
  }
  return out;
}

}  // namespace

TEST_SUITE("mosaic/coverage") {
  TEST_CASE(
      "share and holes, to the pixel where the mosaic is small, to a cell where it is large") {
    // 3 x 3 px a cell for 9000 x 9000: 16 million cells at most.
    for (const auto& one : {std::pair{Size{900, 700}, 1}, {Size{9000, 9000}, 3}}) {
      const Size size = one.first;
      const int cell = one.second;
      CAPTURE(size.width_px);
      const Box hole{302, 211, 422, 301};
      const int right = size.width_px - 30;
      const mosaic::Coverage coverage = covered_but(size, hole, right);
      const double hidden = 30.0 * size.height_px + 120 * 90;
      const double whole = static_cast<double>(size.area_px());
      CHECK(coverage.share() == doctest::Approx(1 - hidden / whole).epsilon(1e-12));
      const auto holes = coverage.holes(100);
      REQUIRE(holes.size() == 1);  // what reaches the edge is none
      CHECK(std::abs(holes[0].box.x0 - hole.x0) < cell);
      CHECK(std::abs(holes[0].box.y1 - hole.y1) < cell);
      CHECK(std::abs(holes[0].middle.x_px - 361.5) < cell);
      CHECK(holes[0].area_px == doctest::Approx(120 * 90).epsilon(cell == 1 ? 1e-12 : 0.05));
      CHECK(coverage.holes(2 * 120 * 90).empty());
    }
  }

  TEST_CASE("windows are covered to the last pixel, and do not overlap") {
    const Box hole{1500, 1500, 1501, 1501};
    for (const Size size : {Size{3100, 2100}, Size{9000, 8000}}) {
      CAPTURE(size.width_px);
      const mosaic::Coverage coverage = covered_but(size, hole, size.width_px - 7);
      const auto windows = coverage.windows(512, 9);
      REQUIRE(windows.size() == 9);
      for (std::size_t i = 0; i < windows.size(); ++i) {
        CHECK(windows[i].width_px() == 512);
        CHECK(windows[i].height_px() == 512);
        CHECK(windows[i].x1 <= size.width_px - 7);
        CHECK(windows[i].intersection(hole).empty());
        for (std::size_t j = 0; j < i; ++j) CHECK(windows[i].intersection(windows[j]).empty());
      }
    }
  }

  TEST_CASE("where no square fits, the largest rectangle; none where nothing is covered") {
    const mosaic::Coverage narrow = covered_but({900, 300}, {0, 0, 900, 20}, 880);
    const auto windows = narrow.windows(1024, 9);
    REQUIRE(windows.size() == 1);
    CHECK(windows[0].y0 >= 20);
    CHECK(windows[0].x1 <= 880);
    CHECK(windows[0].width_px() > 860);
    CHECK(mosaic::Coverage({900, 300}).windows(1024, 9).empty());
    CHECK(mosaic::Coverage({900, 300}).share() == 0);
  }
}
