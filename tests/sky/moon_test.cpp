#include "sky/moon.h"

#include "sky/aspect.h"
#include "sky/sky_test.h"

using namespace lull;
using namespace lull::sky;

TEST_SUITE("sky/moon") {
  // Meeus, Astronomical Algorithms, 2nd ed., example 53.a: 1992-04-12, 0h dynamical time. His axes
  // are those of the Moon's inertia, ours the mean ones: 0.02 degrees in latitude.
  TEST_CASE("libration, pole and Sun of 1992-04-12 as Meeus has them") {
    const Observer observer(utc("1992-04-11T23:59:00.816"));
    const MoonFace face = moon_face(observer);
    CHECK(std::abs(face.libration_longitude_deg + 1.23) < 0.02);
    CHECK(std::abs(face.libration_latitude_deg - 4.20) < 0.03);
    CHECK(apart_deg(aspect_of(Body::moon, observer).pole_deg, 15.08) < 0.02);
    CHECK(std::abs(face.sun_longitude_deg - 67.90) < 0.02);
    CHECK(std::abs(face.sun_latitude_deg - 1.46) < 0.02);
    CHECK(std::abs(face.colongitude_deg - 22.10) < 0.02);
    CHECK(std::abs(face.morning_terminator_deg + 22.10) < 0.02);
    CHECK(std::abs(face.evening_terminator_deg - 157.90) < 0.02);
  }

  TEST_CASE("the limb that is turned in") {
    MoonFace face;
    face.libration_longitude_deg = 5;
    CHECK(std::abs(face.libration_deg() - 5) < 1e-9);
    CHECK(apart_deg(face.libration_direction_deg(), 90) < 1e-9);  // the east limb
    face = {};
    face.libration_latitude_deg = -4;
    CHECK(apart_deg(face.libration_direction_deg(), 180) < 1e-9);  // the south limb
  }

  // The site is 6378 km from the middle of the Earth, the Moon at least 356,500 km away: the face
  // turns by up to 1.03 degrees.
  TEST_CASE("at moonrise a limb is turned in by a degree") {
    const Site equator{0, 0, 0};
    const Utc rise = utc("2024-12-15T17:40:00");  // full Moon, at sunset
    const double here = moon_face(Observer(rise, equator)).libration_longitude_deg;
    const double middle = moon_face(Observer(rise)).libration_longitude_deg;
    CHECK(std::abs(here - middle) > 0.85);
    CHECK(std::abs(here - middle) < 1.04);
  }
}
