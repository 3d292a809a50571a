#include "sky/dispersion.h"

#include <erfa.h>

#include <array>

#include "sky/sky_test.h"

using namespace lull;
using namespace lull::sky;

TEST_SUITE("sky/dispersion") {
  constexpr double kHpaPerMmHg = 1013.25 / 760;

  double altitude_of(double secant) { return 90 - std::acos(1 / secant) / kDegree; }

  struct Row {
    double nm;
    double arcsec;
  };

  // Filippenko 1982, PASP 94, 715, table 1, at sec z = 1.50: 600 mm Hg, 7 degrees C, 8 mm Hg of
  // water, against 500 nm.
  TEST_CASE("a row of the published table, to its last digit") {
    const Air air{600 * kHpaPerMmHg, 7, 8 * kHpaPerMmHg};
    constexpr std::array kRows = {Row{300, 2.37}, Row{350, 1.34}, Row{400, .71},  Row{450, .29},
                                  Row{550, -.21}, Row{600, -.37}, Row{650, -.50}, Row{700, -.60},
                                  Row{800, -.74}, Row{1000, -.91}};
    for (const Row& row : kRows) {
      CAPTURE(row.nm);
      CHECK(std::abs(dispersion_arcsec(row.nm, 500, altitude_of(1.5), air) - row.arcsec) < 0.0101);
    }
  }

  // ERFA's refraction (Saastamoinen's and other formulae, independent of Filippenko's) at 45
  // degrees.
  TEST_CASE("450 to 650 nm at 45 degrees as by ERFA, to 2%") {
    const Air air{1013.25, 15, 8 * kHpaPerMmHg};
    const auto erfa_arcsec = [](double um) {
      double a = 0;
      double b = 0;
      eraRefco(1013.25, 15, 0.5, um, &a, &b);
      return (a + b) * kArcsecPerRadian;
    };
    const double erfa = erfa_arcsec(0.45) - erfa_arcsec(0.65);
    CHECK(std::abs(band_dispersion_arcsec({450, 650}, 45, air) - erfa) < 0.02 * erfa);
  }

  TEST_CASE("a corrector leaves a small part, and nothing at the edges") {
    const Air air;
    const double whole = band_dispersion_arcsec({400, 700}, 30, air);
    const double left = corrected_dispersion_arcsec({400, 700}, 30, air);
    CHECK(left > 0.005 * whole);
    CHECK(left < 0.1 * whole);
    CHECK(corrected_dispersion_arcsec({549, 551}, 30, air) < 1e-5 * whole);
  }

  // ISO 2533 (from memory): 795 hPa at 2000 m.
  TEST_CASE("the air is thinner on a mountain") {
    CHECK(std::abs(air_at(0).pressure_hpa - 1013.25) < 0.01);
    CHECK(std::abs(air_at(2000).pressure_hpa - 795) < 1);
  }
}
