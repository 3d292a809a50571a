#include "spectrum/continuation.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "spectrum/radial_filter.h"

using namespace lull;

namespace {

constexpr Size kSize{90, 70};

// a + b x + c y.
Plane slope() {
  Plane plane(kSize);
  for (int y = 0; y < kSize.height_px; ++y) {
    for (int x = 0; x < kSize.width_px; ++x)
      plane.row(y)[x] = static_cast<float>(0.2 + 0.004 * x + 0.003 * y);
  }
  return plane;
}

// Largest error of a filter that keeps what is coarse (its gain up to 0.08 cycles/px is 1), within
// 8 px of the edges.
double error_at_edges(spectrum::Extended canvas, const Plane& picture) {
  spectrum::filter(canvas.plane, {{0, 1}, {0.08, 1}, {0.2, 4}, {0.3, 1}});
  const PlaneView after = std::as_const(canvas.plane).view().crop(canvas.inside);
  double worst = 0;
  for (int y = 0; y < kSize.height_px; ++y) {
    for (int x = 0; x < kSize.width_px; ++x) {
      if (std::min({x, y, kSize.width_px - 1 - x, kSize.height_px - 1 - y}) >= 8) continue;
      worst = std::max(worst, std::abs(static_cast<double>(after.row(y)[x]) -
                                       static_cast<double>(picture.row(y)[x])));
    }
  }
  return worst;
}

}  // namespace

TEST_SUITE("spectrum/continuation") {
  TEST_CASE("a slope goes on straight, the picture stays, and the canvas closes on itself") {
    const Plane picture = slope();
    const spectrum::Extended canvas = spectrum::continued(picture.view());
    const Box& in = canvas.inside;
    REQUIRE(in.width_px() == kSize.width_px);
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x)
        REQUIRE(canvas.plane.row(in.y0 + y)[in.x0 + x] == picture.row(y)[x]);
    }
    // By its equation, 4 px beyond the edges and beyond a corner, where 2 to 4% of the way to the
    // mean are done.
    const auto at = [&](int x, int y) {
      return static_cast<double>(canvas.plane.row(in.y0 + y)[in.x0 + x]);
    };
    const double mean = 0.2 + 0.004 * 44.5 + 0.003 * 34.5;
    const auto expected = [&](int x, int y) { return 0.2 + 0.004 * x + 0.003 * y; };
    for (const Place& place : {Place{-4, 30}, {93, 30}, {50, -4}, {50, 73}, {-4, -4}}) {
      const int x = place.x;
      const int y = place.y;
      CAPTURE(x);
      CAPTURE(y);
      CHECK(std::abs(at(x, y) - expected(x, y)) < 0.04 * std::abs(expected(x, y) - mean) + 1e-6);
    }
    for (int y = 0; y < canvas.plane.height(); ++y) {
      CHECK(std::abs(static_cast<double>(canvas.plane.row(y)[0]) - mean) < 1e-5);
      CHECK(std::abs(static_cast<double>(canvas.plane.row(y)[canvas.plane.width() - 1]) - mean) <
            1e-5);
    }
  }

  TEST_CASE("sharpening leaves a slope straight up to the edge, where a mirror makes a line") {
    const Plane picture = slope();
    const double smooth = error_at_edges(spectrum::continued(picture.view()), picture);
    const double mirror = error_at_edges(spectrum::mirrored(picture.view()), picture);
    CAPTURE(smooth);
    CAPTURE(mirror);
    CHECK(smooth < 0.1 * mirror);
  }
}
