#include "sky/brightness.h"

#include "sky/sky_test.h"

using namespace lull;
using namespace lull::sky;

TEST_SUITE("sky/brightness") {
  // Magnitudes at mean opposition over the size of the disc (Astronomical Almanac, from memory):
  // Jupiter -2.70 and 46.9 arcsec, Saturn's globe 0.67 and 19.4 x 17.5, Uranus 5.52 and 3.9.
  TEST_CASE("surface brightness agrees with magnitude over area to a fifth of a magnitude") {
    const auto mean_mag = [](double magnitude, double width, double height) {
      return magnitude + 2.5 * std::log10(std::numbers::pi / 4 * width * height);
    };
    const auto at_distance = [](double sun_au) {
      Aspect aspect;
      aspect.sun_distance_au = sun_au;
      return aspect;
    };
    CHECK(std::abs(surface_brightness_mag(Body::jupiter, at_distance(5.20)) -
                   mean_mag(-2.70, 46.9, 43.8)) < 0.2);
    CHECK(std::abs(surface_brightness_mag(Body::saturn, at_distance(9.54)) -
                   mean_mag(0.67, 19.4, 17.5)) < 0.2);
    CHECK(std::abs(surface_brightness_mag(Body::uranus, at_distance(19.19)) -
                   mean_mag(5.52, 3.9, 3.8)) < 0.2);
  }

  // Full Moon: -12.73 over 31.1 arcmin (from memory).
  TEST_CASE("the Sun is 14 magnitudes brighter than the full Moon") {
    Aspect moon;
    moon.sun_distance_au = 1;
    Aspect sun;
    sun.distance_au = 1;
    sun.equatorial_arcsec = 1919.3;
    const double by_sizes = -12.73 + 26.76 + 5 * std::log10(31.1 * 60 / 1919.3);
    CHECK(std::abs(surface_brightness_mag(Body::moon, moon) -
                   surface_brightness_mag(Body::sun, sun) - by_sizes) < 0.2);
  }

  TEST_CASE("five magnitudes are a hundredth of the photons") {
    CHECK(std::abs(photon_rate(5) / photon_rate(0) - 0.01) < 1e-12);
  }
}
