#include "sky/sun.h"

#include "sky/sky_test.h"

using namespace lull;
using namespace lull::sky;

TEST_SUITE("sky/sun") {
  // Meeus, Astronomical Algorithms, 2nd ed., example 29.a.
  TEST_CASE("the Sun of 1992-10-13 as Meeus has it") {
    const SunFace face = sun_face(Observer(utc("1992-10-13")));
    CHECK(std::abs(face.pole_deg - 26.27) < 0.02);
    CHECK(std::abs(face.latitude_deg - 5.99) < 0.02);
    CHECK(apart_deg(face.longitude_deg, 238.63) < 0.02);
  }

  // The same source, page 191: rotation 1699 began at JDE 2444480.7230, 1980-08-29 05:20.
  TEST_CASE("rotation 1699 begins when Meeus has it, and lasts 27 days") {
    const Utc begin = after(utc("1980-08-29T05:21:07"), -51.2);  // 2444480.7230, less 51.2 s
    CHECK(apart_deg(sun_face(Observer(begin)).longitude_deg, 0) < 0.05);
    CHECK(sun_face(Observer(after(begin, -3600))).rotation == 1698);
    CHECK(sun_face(Observer(after(begin, 3600))).rotation == 1699);
    CHECK(sun_face(Observer(after(begin, 27 * 86'400.0))).rotation == 1699);
    CHECK(sun_face(Observer(after(begin, 27.6 * 86'400.0))).rotation == 1700);
  }
}
