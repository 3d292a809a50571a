#include "spectrum/sampling.h"

#include <doctest/doctest.h>

#include <cmath>
#include <functional>
#include <numbers>

using namespace lull;

namespace {

using std::numbers::pi;

// Keys 1981, IEEE Trans. Acoustics, Speech and Signal Processing 29, 1153, eq. 15: the kernel whose
// error is of third order.
double keys(double x) {
  const double s = std::abs(x);
  if (s < 1) return 1.5 * s * s * s - 2.5 * s * s + 1;
  if (s < 2) return -0.5 * s * s * s + 2.5 * s * s - 4 * s + 2;
  return 0;
}

// The cardinal cubic spline is 1 at 0 and 0 at the other samples: coefficients of a unit sample
// fall by the pole sqrt(3) - 2 (Unser 1999, IEEE Signal Processing Magazine 16(6), 22).
double cardinal_spline(double x) {
  const auto basis = [](double t) {
    const double s = std::abs(t);
    if (s < 1) return 2.0 / 3 - s * s + s * s * s / 2;
    return s < 2 ? (2 - s) * (2 - s) * (2 - s) / 6 : 0;
  };
  const double pole = std::sqrt(3.0) - 2;
  double sum = 0;
  for (int k = -14; k <= 14; ++k)
    sum += std::sqrt(3.0) * std::pow(pole, std::abs(k)) * basis(x - k);
  return sum;
}

double tent(double x) { return std::max(1 - std::abs(x), 0.0); }

// Fourier transform at a frequency, by the midpoint rule.
double transform(const std::function<double(double)>& kernel, double frequency, double reach = 2) {
  constexpr int kSteps = 4000;
  double sum = 0;
  for (int i = 0; i < kSteps; ++i) {
    const double x = 2 * reach * (i + 0.5) / kSteps - reach;
    sum += kernel(x) * std::cos(2 * pi * frequency * x);
  }
  return sum * 2 * reach / kSteps;
}

double over_directions(const std::function<double(double)>& kernel, double frequency) {
  constexpr int kDirections = 90;
  double sum = 0;
  for (int k = 0; k < kDirections; ++k) {
    const double angle = pi / 2 * (k + 0.5) / kDirections;
    sum += transform(kernel, frequency * std::cos(angle)) *
           transform(kernel, frequency * std::sin(angle));
  }
  return sum / kDirections;
}

}  // namespace

TEST_SUITE("spectrum/sampling") {
  TEST_CASE("[1 2 1] / 4 keeps a quarter of the power at 0.25 cycles/px, nothing at 0.5") {
    CHECK(spectrum::smoothing_power(0) == doctest::Approx(1));
    CHECK(spectrum::smoothing_power(0.25) == doctest::Approx(0.25));
    CHECK(std::abs(spectrum::smoothing_power(0.5)) < 1e-12);
  }

  TEST_CASE("what interpolation leaves is the transform of its kernel") {
    for (const double frequency : {0.0, 0.05, 0.2, 0.33, 0.45, 0.5, 0.7}) {
      CAPTURE(frequency);
      CHECK(spectrum::cubic_transfer(frequency) ==
            doctest::Approx(over_directions(keys, frequency)).epsilon(0.002));
      CHECK(spectrum::tent_transfer(frequency) ==
            doctest::Approx(over_directions(tent, frequency)).epsilon(0.002));
    }
  }

  TEST_CASE("a cubic spline leaves the transform of the cardinal spline") {
    CHECK(cardinal_spline(0) == doctest::Approx(1).epsilon(1e-6));
    CHECK(std::abs(cardinal_spline(1)) < 1e-6);
    for (const double frequency : {0.0, 0.1, 0.25, 0.4, 0.5}) {
      CAPTURE(frequency);
      double sum = 0;
      for (int k = 0; k < 45; ++k) {
        const double angle = pi / 2 * (k + 0.5) / 45;
        sum += transform(cardinal_spline, frequency * std::cos(angle), 12) *
               transform(cardinal_spline, frequency * std::sin(angle), 12);
      }
      CHECK(spectrum::spline_transfer(frequency) == doctest::Approx(sum / 45).epsilon(0.002));
    }
  }

  TEST_CASE("drops: the transform of a square, and nothing is lost by points") {
    const auto box = [](double x) { return std::abs(x) < 0.35 ? 1 / 0.7 : 0.0; };
    CHECK(spectrum::drop_transfer(0.4, 0.7) ==
          doctest::Approx(over_directions(box, 0.4)).epsilon(0.005));
    CHECK(spectrum::drop_transfer(0.5, 1e-6) == doctest::Approx(1));
  }
}
