// Covers: sky/rotation_elements, sky/body
#include "sky/aspect.h"

#include <vector>

#include "sky/sky_test.h"

using namespace lull;
using namespace lull::sky;

TEST_SUITE("sky/aspect") {
  // Meeus, Astronomical Algorithms, 2nd ed., example 43.a. His central meridians hold a correction
  // for the shadowed limb, 57.3 sin^2(i / 2) = .43 degrees here, which ours do not.
  TEST_CASE("Jupiter of 1992-12-16 as Meeus has it") {
    const Observer observer(utc("1992-12-16"));
    const Aspect aspect = aspect_of(Body::jupiter, observer);
    const double shadowed = 57.3 * std::pow(std::sin(0.5 * aspect.phase_deg * kDegree), 2);
    CHECK(std::abs(shadowed - 0.4285) < 0.002);
    CHECK(std::abs(aspect.below_observer.centric_latitude_deg + 2.48) < 0.02);
    CHECK(std::abs(aspect.below_sun.centric_latitude_deg + 2.20) < 0.02);
    CHECK(apart_deg(aspect.pole_deg, 24.80) < 0.02);
    const double one = central_meridian_deg(Body::jupiter, observer, LongitudeSystem::one);
    const double two = central_meridian_deg(Body::jupiter, observer, LongitudeSystem::two);
    CHECK(apart_deg(one + shadowed, 268.06) < 0.1);
    CHECK(apart_deg(two + shadowed, 72.74) < 0.1);
  }

  // Example 42.a. His elements of Mars are older.
  TEST_CASE("Mars of 1992-11-09 as Meeus has it") {
    const Aspect aspect = aspect_of(Body::mars, Observer(utc("1992-11-09")));
    CHECK(std::abs(aspect.below_observer.centric_latitude_deg - 12.44) < 0.05);
    CHECK(std::abs(aspect.below_sun.centric_latitude_deg + 2.76) < 0.05);
    CHECK(apart_deg(aspect.below_observer.longitude_deg, 111.55) < 0.05);
    CHECK(apart_deg(aspect.pole_deg, 347.64) < 0.05);
    // The greatest shadow is opposite to the middle of the bright limb.
    CHECK(apart_deg(aspect.bright_limb_deg + 180, 279.91) < 0.05);
    CHECK(std::abs(aspect.equatorial_arcsec - 10.75) < 0.01);
    CHECK(std::abs(aspect.lit - 0.9012) < 0.0002);
    CHECK(std::abs(aspect.shadow_arcsec() - 1.06) < 0.01);
  }

  struct Known {
    const char* date;
    Body body;
    double longitude_deg;
    double latitude_deg;  ///< planetocentric
  };

  // Computed with astronomy-engine 2.1.19 (MIT): the working group's elements on positions by
  // VSOP87; also where nothing else is at hand (Mercury, Venus, Uranus, Neptune).
  const std::vector<Known> kKnown = {{"1992-11-09", Body::sun, 242.560, 3.490},
                                     {"1992-11-09", Body::mercury, 92.797, 0.177},
                                     {"1992-11-09", Body::venus, 16.303, 2.598},
                                     {"1992-11-09", Body::mars, 111.531, 12.438},
                                     {"1992-11-09", Body::jupiter, 183.189, -2.177},
                                     {"1992-11-09", Body::saturn, 299.748, 17.437},
                                     {"1992-11-09", Body::uranus, 0.760, -61.480},
                                     {"1992-11-09", Body::neptune, 251.727, -24.529},
                                     {"1992-11-09", Body::moon, 355.932, -5.322},
                                     {"2008-03-21T06:30:00", Body::sun, 343.938, -6.999},
                                     {"2008-03-21T06:30:00", Body::mercury, 246.732, -4.356},
                                     {"2008-03-21T06:30:00", Body::venus, 124.164, 0.487},
                                     {"2008-03-21T06:30:00", Body::mars, 238.012, 3.651},
                                     {"2008-03-21T06:30:00", Body::jupiter, 57.397, -1.724},
                                     {"2008-03-21T06:30:00", Body::saturn, 11.477, -9.296},
                                     {"2008-03-21T06:30:00", Body::uranus, 197.761, 1.676},
                                     {"2008-03-21T06:30:00", Body::neptune, 92.749, -28.117},
                                     {"2008-03-21T06:30:00", Body::moon, 4.209, 3.196}};

  TEST_CASE("the middle of every disc in 1992 and 2008, to 0.05 degrees") {
    for (const Known& known : kKnown) {
      CAPTURE(known.date);
      CAPTURE(body_name(known.body));
      const Aspect aspect = aspect_of(known.body, Observer(utc(known.date)));
      CHECK(apart_deg(aspect.below_observer.longitude_deg, known.longitude_deg) < 0.05);
      CHECK(std::abs(aspect.below_observer.centric_latitude_deg - known.latitude_deg) < 0.05);
    }
  }

  // From the rates of the elements: 2 pi / 9h55m29.711s of System III (Archinal et al. 2018), as
  // seen from the Earth, which moves on by a fraction of a degree a day.
  TEST_CASE("Jupiter turns by 36.27 degrees an hour as its equator is seen from its side") {
    const Observer observer(utc("2024-12-07"));
    const double tilt = aspect_of(Body::jupiter, observer).below_observer.centric_latitude_deg;
    CHECK(std::abs(turning_deg_per_hour(Body::jupiter, observer) -
                   870.536 / 24 * std::cos(tilt * kDegree)) < 0.02);
  }

  // Rates of the elements (Archinal et al. 2018): Uranus 501.1600928 degrees a day, Saturn
  // 810.7939024, Jupiter's System III 870.536. In 2026 a pole of Uranus is tilted towards the Earth
  // by about 70 degrees, so that the middle of its disc hardly moves.
  TEST_CASE("longitudes move by the true rotation on tilted globes too") {
    const Observer observer(utc("2026-11-30"));
    for (const auto& [body, deg_per_day] :
         {std::pair{Body::uranus, 501.1600928}, std::pair{Body::saturn, 810.7939024},
          std::pair{Body::jupiter, 870.536}})
      CHECK(std::abs(longitude_deg_per_hour(body, observer) - deg_per_day / 24) < 0.02);
    CHECK(turning_deg_per_hour(Body::uranus, observer) < 0.5 * 501.16 / 24);
  }

  // The Moon's face moves by libration alone: under 0.3 degrees an hour from the middle of the
  // Earth.
  TEST_CASE("the Moon keeps its face") {
    CHECK(turning_deg_per_hour(Body::moon, Observer(utc("2024-12-07"))) < 0.3);
  }

  // tan of the planetographic latitude is (a / b)^2 tan of the centric one (Meeus, page 82).
  TEST_CASE("planetographic latitudes of Saturn are larger") {
    const SurfacePoint middle = aspect_of(Body::saturn, Observer(utc("2017-10-15"))).below_observer;
    CHECK(std::abs(std::tan(middle.latitude_deg * kDegree) -
                   std::pow(60268.0 / 54364, 2) * std::tan(middle.centric_latitude_deg * kDegree)) <
          1e-9);
    CHECK(middle.centric_latitude_deg > 26.9);
  }

  TEST_CASE("a flattened disc is less high than wide, and a tilt raises it") {
    const Aspect flat = aspect_of(Body::saturn, Observer(utc("2025-03-23")));  // edge on
    const Aspect open = aspect_of(Body::saturn, Observer(utc("2017-10-15")));  // 27 degrees
    CHECK(std::abs(flat.polar_arcsec / flat.equatorial_arcsec - 54364.0 / 60268) < 0.001);
    CHECK(open.polar_arcsec / open.equatorial_arcsec > 0.92);
  }
}
