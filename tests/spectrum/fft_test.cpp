#include "spectrum/fft.h"

#include <doctest/doctest.h>

#include <cmath>
#include <complex>
#include <numbers>

#include "support/scene.h"

namespace {

using namespace lull;

// The definition of the discrete Fourier transform, in doubles.
std::complex<double> direct_dft(const Plane& plane, int row, int column) {
  std::complex<double> sum;
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) {
      const double angle = -2 * std::numbers::pi *
                           (static_cast<double>(row) * y / plane.height() +
                            static_cast<double>(column) * x / plane.width());
      sum += static_cast<double>(plane.row(y)[x]) * std::polar(1.0, angle);
    }
  }
  return sum;
}

}  // namespace

TEST_SUITE("spectrum/fft") {
  // Raised cosine over the whole length: 0.5 - 0.5 cos(pi (i + 0.5) / 4) of 8 px.
  TEST_CASE("a taper has its values at the middles of the pixels, and half of the length as sum") {
    const auto window = spectrum::tukey_window(8, 1);
    CHECK(static_cast<double>(window[0]) == doctest::Approx(0.0380602));
    CHECK(static_cast<double>(window[3]) == doctest::Approx(0.9619398));
    CHECK(window[0] == window[7]);
    double sum = 0;
    for (const float w : window) sum += static_cast<double>(w);
    CHECK(sum == doctest::Approx(4));
  }

  TEST_CASE("is the discrete Fourier transform, and the inverse undoes it") {
    for (const Size size : {Size{12, 10}, Size{15, 9}, Size{16, 16}, Size{2, 3}, Size{1, 4},
                            Size{4, 1}, Size{18, 5}, Size{22, 4}, Size{30, 7}, Size{46, 6}}) {
      Plane plane(size);
      test::add_noise(plane.view(), 1, 3);
      spectrum::Fft fft(size);
      spectrum::Spectrum spectrum;
      fft.forward(plane.view(), spectrum);
      for (int r = 0; r < spectrum.rows(); ++r) {
        for (int c = 0; c < spectrum.columns(); ++c) {
          const auto expected = direct_dft(plane, r, c);
          CHECK(std::abs(std::complex<double>(spectrum.row(r)[c]) - expected) < 1e-4);
        }
      }
      Plane back(size);
      fft.inverse(spectrum, back.view());
      for (int y = 0; y < size.height_px; ++y) {
        for (int x = 0; x < size.width_px; ++x) {
          CHECK(std::abs(back.row(y)[x] - plane.row(y)[x]) < 1e-5F);
        }
      }
    }
  }

  TEST_CASE("fast lengths have no prime factor above 5") {
    CHECK(spectrum::fast_length_below(176) == 162);
    CHECK(spectrum::fast_length_below(160) == 160);
    CHECK(spectrum::fast_length_above(161) == 162);
    CHECK(spectrum::fast_length_below(1) == 1);
  }
}
