#include "spectrum/radial_filter.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

using namespace lull;

namespace {

Plane wave(Size size, double fx, double fy) {
  Plane plane(size);
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x)
      plane.row(y)[x] =
          static_cast<float>(0.5 + 0.2 * std::cos(2 * std::numbers::pi * (fx * x + fy * y)));
  }
  return plane;
}

}  // namespace

TEST_SUITE("spectrum/radial_filter") {
  TEST_CASE("waves keep their place and take the gain of their frequency: what a filter is") {
    const Size size{150, 110};
    const std::vector<spectrum::FilterPoint> curve = {{0, 1}, {0.1, 3}, {0.3, 1}, {0.4, 0}};

    struct Case {
      double fx, fy, gain;
    };

    // The gains by linear interpolation of the curve at hypot(fx, fy).
    for (const Case& one : {Case{0.1, 0, 3}, Case{0, 0.2, 2}, Case{0.12, 0.16, 2},
                            Case{0.03, 0.04, 2}, Case{0.45, 0, 0}}) {
      const Plane before = wave(size, one.fx, one.fy);
      const Plane after = spectrum::filtered(before.view(), curve);
      double worst = 0;
      for (int y = 40; y < size.height_px - 40; ++y) {  // the mirror breaks a wave at the edges
        for (int x = 40; x < size.width_px - 40; ++x) {
          const auto b = static_cast<double>(before.row(y)[x]) - 0.5;
          const auto a = static_cast<double>(after.row(y)[x]) - 0.5;
          worst = std::max(worst, std::abs(a - one.gain * b));
        }
      }
      CAPTURE(one.fx);
      CAPTURE(one.fy);
      CHECK(worst < 0.02);
    }
  }

  TEST_CASE("a filter of 1 changes nothing, an even picture stays even") {
    const Plane before = wave({64, 50}, 0.21, 0.13);
    const Plane after = spectrum::filtered(before.view(), {{0, 1}});
    CHECK(after.size() == before.size());
    for (int y = 0; y < 50; ++y) {
      for (int x = 0; x < 64; ++x) CHECK(std::abs(after.row(y)[x] - before.row(y)[x]) < 1e-6F);
    }
    Plane even(40, 40);
    for (int y = 0; y < 40; ++y) std::fill_n(even.row(y), 40, 0.25F);
    const Plane sharp = spectrum::filtered(even.view(), {{0, 1}, {0.1, 5}});
    CHECK(std::abs(sharp.row(0)[0] - 0.25F) < 1e-6F);
    CHECK(std::abs(sharp.row(20)[39] - 0.25F) < 1e-6F);
  }
}
