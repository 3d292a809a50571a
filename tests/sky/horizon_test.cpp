#include "sky/horizon.h"

#include <erfa.h>

#include "sky/sky_test.h"

using namespace lull;
using namespace lull::sky;

TEST_SUITE("sky/horizon") {
  // Meeus, Astronomical Algorithms, 2nd ed., example 13.b (from memory): Venus from 77.0656 W,
  // 38.9214 N on 1987-04-10 at 19:21:00 UT, geocentric: azimuth 68.0337 from the south, altitude
  // 15.1249. Seen from the site, parallax takes 6 arcsec.
  TEST_CASE("Venus over Washington as Meeus has it, to 0.005 degrees") {
    const Observer observer(utc("1987-04-10T19:21:00"), Site{38.921389, -77.065556, 0});
    const Horizontal at = horizontal(Body::venus, observer);
    CHECK(std::abs(at.altitude_deg - 15.1249) < 0.005);
    CHECK(std::abs(at.azimuth_deg - 248.0337) < 0.005);
  }

  // ERFA's constants, for 550 nm in air of half its vapour; independent of the formula used here.
  TEST_CASE("refraction at 20 to 80 degrees as by ERFA, to 0.12 arcmin") {
    const Air air{1010, 10, 6};
    double a = 0;
    double b = 0;
    eraRefco(air.pressure_hpa, air.temperature_c, 0.5, 0.55, &a, &b);
    for (const double apparent : {20.0, 35.0, 50.0, 80.0}) {
      CAPTURE(apparent);
      const double tangent = std::tan((90 - apparent) * kDegree);
      const double erfa_deg = (a * tangent + b * tangent * tangent * tangent) / kDegree;
      CHECK(std::abs(refraction_deg(apparent - erfa_deg, air) - erfa_deg) * 60 < 0.12);
    }
  }

  // Meeus, example 16.a (from memory): the Sun's lower limb at an apparent 30 arcmin is lifted by
  // 28.754 arcmin; the formula for true altitudes agrees with it to 0.1 arcmin.
  TEST_CASE("refraction at the horizon") {
    CHECK(std::abs(refraction_deg(0.5 - 28.754 / 60, Air{1010, 10, 6}) - 28.754 / 60) * 60 < 0.1);
  }

  // Kasten & Young 1989, table II (from memory): 37.92 at the horizon, 5.60 at 10 degrees, 2.00 at
  // 30.
  TEST_CASE("air mass of the published table") {
    CHECK(std::abs(air_mass(0) - 37.92) < 0.05);
    CHECK(std::abs(air_mass(10) - 5.59) < 0.02);
    CHECK(std::abs(air_mass(30) - 1.995) < 0.005);
    CHECK(std::abs(air_mass(90) - 1) < 0.001);
  }
}
