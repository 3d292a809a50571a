#include "spectrum/peak.h"

#include <doctest/doctest.h>

#include <cmath>

// All values are worked by hand.
TEST_SUITE("spectrum/peak") {
  namespace {

  using namespace lull;

  constexpr Size kSize{32, 24};

  int wrapped(int i, int length) { return i > length / 2 ? i - length : i; }

  }  // namespace

  TEST_CASE("the vertex of a paraboloid is found exactly, in every direction from zero") {
    for (const Displacement top :
         {Displacement{0, 0}, {3.25, 2.3}, {-3.25, 2.4}, {5.1, -4.45}, {-0.3, -0.2}}) {
      CAPTURE(top.x_px);
      Plane plane(kSize);
      for (int y = 0; y < kSize.height_px; ++y) {
        for (int x = 0; x < kSize.width_px; ++x) {
          const double dx = wrapped(x, kSize.width_px) - top.x_px;
          const double dy = wrapped(y, kSize.height_px) - top.y_px;
          plane.row(y)[x] = static_cast<float>(4 - 0.5 * dx * dx - 0.25 * dy * dy);
        }
      }
      const auto peak = spectrum::find_peak(plane.view(), 8, 8);
      CHECK(std::abs(peak.at.x_px - top.x_px) < 1e-5);
      CHECK(std::abs(peak.at.y_px - top.y_px) < 1e-5);
    }
  }

  TEST_CASE("height over rms: sqrt(samples) for a single one") {
    Plane plane(kSize);
    plane.row(1)[kSize.width_px - 2] = 7;
    const auto peak = spectrum::find_peak(plane.view(), 5, 5);
    CHECK(peak.at.x_px == -2);
    CHECK(peak.at.y_px == 1);
    CHECK(peak.over_rms == doctest::Approx(std::sqrt(32.0 * 24.0)).epsilon(1e-6));
  }

  TEST_CASE("what lies beyond the reach is not looked at, but counts for the rms") {
    Plane plane(kSize);
    plane.row(2)[3] = 3;
    plane.row(2)[9] = 4;
    const auto near = spectrum::find_peak(plane.view(), 5, 5);
    CHECK(near.at.x_px == 3);
    CHECK(near.over_rms == doctest::Approx(3 / std::sqrt(25.0 / (32 * 24))).epsilon(1e-6));
    CHECK(spectrum::find_peak(plane.view(), 9, 2).at.x_px == 9);
    CHECK(spectrum::find_peak(plane.view(), 9, 1).at == Displacement{});
  }

  TEST_CASE("an empty surface has a peak of no height at zero") {
    const Plane plane(kSize);
    const auto peak = spectrum::find_peak(plane.view(), 5, 5);
    CHECK(peak.over_rms == 0);
    CHECK(peak.at.x_px == 0);
    CHECK(peak.at.y_px == 0);
  }
}
