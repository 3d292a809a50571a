#include "spectrum/phase_slope.h"

#include <doctest/doctest.h>

#include <cmath>
#include <complex>
#include <numbers>

using namespace lull;

TEST_SUITE("spectrum/phase_slope") {
  TEST_CASE("a displacement turns phases by -2 pi f d") {
    const Displacement by{1.7, -0.6};
    spectrum::PhaseSlope slope;
    for (const auto& [fx, fy] : {std::pair{0.05, 0.0}, {0.02, 0.08}, {0.1, -0.04}}) {
      const double turn = -2 * std::numbers::pi * (fx * by.x_px + fy * by.y_px);
      slope.add(std::polar(3.0, turn), fx, fy, 2);
    }
    const auto found = slope.displacement();
    REQUIRE(found);
    CHECK(std::abs(found->x_px - by.x_px) < 1e-12);
    CHECK(std::abs(found->y_px - by.y_px) < 1e-12);
  }

  TEST_CASE("stronger bins count more, and bins on one line fix no displacement") {
    spectrum::PhaseSlope slope;
    slope.add({1, 0}, 0.1, 0, 1);
    CHECK_FALSE(slope.displacement());
    slope.add({1, 0}, 0, 0.1, 1);
    // Of two bins of one frequency the phase is that of their amplitudes' mean: 3 of 4.
    slope.add(std::polar(3.0, -0.2 * std::numbers::pi), 0.1, 0, 1);
    CHECK(slope.displacement()->x_px == doctest::Approx(0.75));
    CHECK(std::abs(slope.displacement()->y_px) < 1e-12);
  }
}
