#include "health/optics.h"

#include <doctest/doctest.h>

#include <cmath>

using lull::health::Optics;

TEST_SUITE("health/optics") {
  TEST_CASE("Nyquist's pixel is lambda / 2D") {
    // D = 250 mm, 550 nm: lambda / (2 D) = 0.22689 arcsec, computed from 206264.8 arcsec a radian.
    // Critical sampling: N = 2 p / lambda, 3.64 p at 550 nm and 4.44 p at 450 nm (p in um).
    const Optics critical{250, 250 * 3.63636 * 2.9, 2.9, 550};
    CHECK(std::abs(critical.px_per_lambda_over_d() - 2) < 1e-4);
    CHECK(std::abs(critical.scale_arcsec_per_px() - 0.22689) < 1e-4);
    const Optics blue{250, 250 * 4.4444 * 2.9, 2.9, 450};
    CHECK(std::abs(blue.cutoff_cycles_per_px() - 0.5) < 1e-4);
  }
}
