#include "lab/pupil.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <complex>
#include <numbers>

using lull::Plane;
using lull::lab::PsfMaker;
using lull::lab::Pupil;

namespace {

Plane psf_of(const Pupil& pupil) {
  PsfMaker maker(pupil.psf_side);
  Plane psf(pupil.psf_side, pupil.psf_side);
  maker.add(pupil, std::vector<float>(pupil.points.size(), 0.0F), 1, psf);
  return psf;
}

// Transform of a PSF at a frequency along x, by its definition.
double mtf(const Plane& psf, double cycles_per_px) {
  std::complex<double> sum;
  for (int y = 0; y < psf.height(); ++y) {
    for (int x = 0; x < psf.width(); ++x) {
      sum +=
          std::polar(static_cast<double>(psf.row(y)[x]), -2 * std::numbers::pi * cycles_per_px * x);
    }
  }
  return std::abs(sum);
}

}  // namespace

TEST_SUITE("lab/pupil") {
  // O'Neill 1956, Journal of the Optical Society of America 46, 285 (normalised overlap of the
  // annuli); values computed from overlaps of circles.
  TEST_CASE("the MTF is that of an obstructed aperture") {
    struct Row {
      double obstruction;
      std::array<double, 5> at;  ///< at 0.1, 0.3, 0.5, 0.7, 0.9 of the cutoff
    };

    for (const Row& row : {Row{0, {.87289, .62384, .39100, .18812, .03739}},
                           Row{0.2, {.84222, .56650, .36740, .19596, .03894}},
                           Row{1.0 / 3, {.80998, .45649, .32374, .21164, .04206}},
                           Row{0.5, {.74620, .30589, .22360, .22205, .04985}}}) {
      CAPTURE(row.obstruction);
      constexpr int kSide = 200;
      const Pupil pupil(kSide, 0.5, row.obstruction);  // diameter 100: whole bins
      const Plane psf = psf_of(pupil);
      for (std::size_t i = 0; i < 5; ++i) {
        const double share = 0.1 + 0.2 * static_cast<double>(i);
        CAPTURE(share);
        // The rim of the pupil on its grid: a few thousandths.
        CHECK(std::abs(mtf(psf, 0.5 * share) - row.at[i]) < 0.004);
      }
      CHECK(mtf(psf, 0) == doctest::Approx(1).epsilon(1e-4));
    }
  }

  // Airy: first zero at 1.2197 lambda/D for the clear circle.
  TEST_CASE("the PSF of a clear circle has its first dark ring where Airy's is") {
    const Pupil pupil(256, 0.25, 0);
    const Plane psf = psf_of(pupil);
    int darkest = 1;
    while (psf.row(0)[darkest + 1] < psf.row(0)[darkest]) ++darkest;
    CHECK(std::abs(darkest - 1.2197 / 0.25) < 0.6);
  }

  // Noll 1976, Table I: Z2 = 2 r cos, Z4 = sqrt 3 (2 r^2 - 1), Z7 = sqrt 8 (3 r^3 - 2 r) sin,
  // Z11 = sqrt 5 (6 r^4 - 6 r^2 + 1).
  TEST_CASE("Zernike polynomials are Noll's") {
    const double r = 0.7;
    const double angle = 0.6;
    const double x = r * std::cos(angle);
    const double y = r * std::sin(angle);
    CHECK(lull::lab::zernike(1, x, y) == doctest::Approx(1));
    CHECK(lull::lab::zernike(2, x, y) == doctest::Approx(2 * r * std::cos(angle)));
    CHECK(lull::lab::zernike(3, x, y) == doctest::Approx(2 * r * std::sin(angle)));
    CHECK(lull::lab::zernike(4, x, y) == doctest::Approx(std::sqrt(3.0) * (2 * r * r - 1)));
    CHECK(lull::lab::zernike(5, x, y) ==
          doctest::Approx(std::sqrt(6.0) * r * r * std::sin(2 * angle)));
    CHECK(lull::lab::zernike(6, x, y) ==
          doctest::Approx(std::sqrt(6.0) * r * r * std::cos(2 * angle)));
    CHECK(lull::lab::zernike(7, x, y) ==
          doctest::Approx(std::sqrt(8.0) * (3 * r * r * r - 2 * r) * std::sin(angle)));
    CHECK(lull::lab::zernike(8, x, y) ==
          doctest::Approx(std::sqrt(8.0) * (3 * r * r * r - 2 * r) * std::cos(angle)));
    CHECK(lull::lab::zernike(11, x, y) ==
          doctest::Approx(std::sqrt(5.0) * (6 * std::pow(r, 4) - 6 * r * r + 1)));
  }

  // Strehl ratio of a small aberration: exp(-sigma^2), Mahajan 1983, Journal of the Optical
  // Society of America 73, 860.
  TEST_CASE("a static aberration lowers the Strehl ratio by Mahajan's law") {
    const Pupil pupil(128, 0.45, 0, {0.4});  // 0.4 rad of defocus
    PsfMaker maker(128);
    Plane psf(128, 128);
    maker.add(pupil, std::vector<float>(pupil.points.size(), 0.0F), 1, psf);
    CHECK(maker.strehl_at_centre() == doctest::Approx(std::exp(-0.16)).epsilon(0.01));
  }

  TEST_CASE("a tilt of the phase moves the PSF to the place that the shift field gives") {
    const Pupil pupil(64, 0.4, 0.3);
    PsfMaker maker(64);
    Plane psf(64, 64);
    std::vector<float> phase;
    for (const Pupil::Point& p : pupil.points)
      phase.push_back(static_cast<float>(2 * std::numbers::pi / 64 * (3 * p.x - 5 * p.y)));
    maker.add(pupil, phase, 1, psf);
    const Plane still = psf_of(pupil);
    CHECK(psf.row(64 - 5)[3] ==
          doctest::Approx(static_cast<double>(still.row(0)[0])).epsilon(1e-4));
  }
}
