#include "sky/rings.h"

#include "sky/sky_test.h"

using namespace lull;
using namespace lull::sky;

TEST_SUITE("sky/rings") {
  // Meeus, Astronomical Algorithms, 2nd ed., example 45.a (values by a run of npm astronomia 4.2.0,
  // MIT, which follows the book). His pole is an older one, 0.03 degrees away. He takes 375.35
  // arcsec at 1 au for the outer edge, 0.5% less than the edge of ring A.
  TEST_CASE("the rings of 1992-12-16 as Meeus has them") {
    const Rings rings = rings_of_saturn(Observer(utc("1992-12-16")));
    CHECK(std::abs(rings.tilt_deg - 16.442) < 0.02);
    CHECK(std::abs(rings.sun_tilt_deg - 14.679) < 0.02);
    CHECK(std::abs(rings.sun_from_observer_deg - 4.198) < 0.02);
    CHECK(apart_deg(rings.pole_deg, 6.741) < 0.03);
    CHECK(std::abs(rings.outer_major_arcsec - 35.87) < 0.006 * 35.87);
    CHECK(std::abs(rings.outer_minor_arcsec - 10.15) < 0.007 * 10.15);
    CHECK(rings.lit());
  }

  // The Earth passed the plane on 2025-03-23, the Sun on 2025-05-06 (announced widely; from
  // memory).
  TEST_CASE("between the two passages of 2025 the dark side is seen") {
    CHECK_FALSE(rings_of_saturn(Observer(utc("2025-04-15"))).lit());
    CHECK(rings_of_saturn(Observer(utc("2025-03-15"))).lit());
    CHECK(rings_of_saturn(Observer(utc("2025-05-15"))).lit());
  }
}
