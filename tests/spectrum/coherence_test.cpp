#include "spectrum/coherence.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace lull::spectrum;

namespace {

// From 0.045 to 0.585.
constexpr int kRings = 19;

double frequency_of(int ring) { return 0.045 + 0.03 * ring; }

std::vector<Coherence> rings_at(double d_over_r0) {
  std::vector<Coherence> rings;
  for (int ring = 0; ring < kRings; ++ring) {
    const double q = frequency_of(ring);
    rings.push_back({q, expected_coherence(q, d_over_r0), 9});
  }
  return rings;
}

}  // namespace

TEST_SUITE("spectrum/coherence") {
  TEST_CASE("it is 1 at frequency 0 and falls with the turbulence") {
    for (int i = 0; i <= 30; ++i) {
      const double q = 0.02 * i;
      double before = 1;
      for (int quarters = 4; quarters <= 40; ++quarters) {
        const double d = quarters / 4.0;
        const double value = expected_coherence(q, d);
        CHECK(value <= before + 1e-12);
        CHECK(value > 0);
        before = value;
      }
    }
    CHECK(expected_coherence(0, 8) == 1);
  }

  // Fried 1966, J. Opt. Soc. Am. 56, 1372: losses of phase go with (D / r0)^(5/3); the variance of
  // a transfer whose phases vary little goes with their square, so the loss of coherence of weak
  // turbulence lies between the powers 5/3 and 10/3.
  TEST_CASE("weak turbulence costs as a power between 5/3 and 10/3 of D / r0") {
    for (const double q : {0.15, 0.2, 0.25}) {
      const double ratio = std::log(expected_coherence(q, 2)) / std::log(expected_coherence(q, 1));
      CHECK(std::log2(ratio) > 5.0 / 3);
      CHECK(std::log2(ratio) < 10.0 / 3 + 0.3);
    }
  }

  TEST_CASE("what follows the theory gives its D / r0 back within 1%") {
    for (int step = 0; step < 15; ++step) {
      const double d = 1.5 * std::pow(1.17, step);  // to 13.5
      const auto found = turbulence_of(rings_at(d));
      CAPTURE(d);
      REQUIRE(found);
      CHECK(std::abs(*found / d - 1) < 0.01);
    }
  }

  // Fried 1966: a short exposure passes exp(-3.44 (x D / r0)^(5/3) (1 - x^(1/3))) of what the
  // telescope does; its square is coherence times power.
  TEST_CASE("coherence times power is the square of the short-exposure transfer: Fried 1966") {
    for (const double d : {2.0, 3.0, 5.0}) {
      for (const double x : {0.1, 0.15, 0.2, 0.25}) {
        CAPTURE(d);
        CAPTURE(x);
        const double short_exposure =
            std::exp(-3.44 * std::pow(x * d, 5.0 / 3) * (1 - std::cbrt(x)));
        const double found = std::sqrt(expected_coherence(x, d) * expected_speckle_power(x, d));
        CHECK(found == doctest::Approx(short_exposure).epsilon(0.12));
      }
    }
  }

  TEST_CASE("in poor air fine detail keeps a power that goes with (r0 / D)^2: Korff 1973") {
    for (const double x : {0.3, 0.5, 0.7}) {
      const double power = std::log(expected_speckle_power(x, 12) / expected_speckle_power(x, 8)) /
                           std::log(12.0 / 8);
      CHECK(power == doctest::Approx(-2).epsilon(0.1));
    }
  }

  TEST_CASE("the stillest air loses next to nothing, and few rings suffice for the nearest air") {
    CHECK(expected_speckle_power(0.5, 0.3) > 0.9);
    CHECK(*nearest_turbulence({{0.1, 1, 9}, {0.3, 1, 9}}) < 0.31);
    CHECK(*nearest_turbulence({{0.2, expected_coherence(0.2, 6), 9}}) ==
          doctest::Approx(6).epsilon(0.01));
    CHECK_FALSE(nearest_turbulence({}));
  }

  TEST_CASE("what no turbulence does is not taken for it") {
    std::vector<Coherence> still;
    for (int ring = 0; ring < kRings; ++ring) {
      const double q = frequency_of(ring);
      still.push_back({q, q < 0.2 ? 0.3 : 0.9, 9});
    }
    CHECK_FALSE(turbulence_of(still));  // fine detail agrees better than coarse
    CHECK_FALSE(turbulence_of({{0.1, 0.9, 9}, {0.13, 0.8, 9}}));  // too few
    std::vector<Coherence> faint = rings_at(5);
    for (Coherence& ring : faint) ring.signal = 0.5;
    CHECK_FALSE(turbulence_of(faint));
    CHECK_FALSE(turbulence_of({}));
  }
}
