#include "core/neighbourhood.h"

#include <doctest/doctest.h>

using namespace lull;

TEST_SUITE("core/neighbourhood") {
  TEST_CASE(
      "one high and one low place spread by the given reach, up to the edges and not around them") {
    Plane plane(12, 9);
    plane.row(0)[1] = 2;
    plane.row(6)[8] = -3;
    const Plane high = highest_nearby(plane, 2);
    const Plane low = lowest_nearby(plane, 2);
    for (int y = 0; y < 9; ++y) {
      for (int x = 0; x < 12; ++x) {
        CHECK(high.row(y)[x] == (y <= 2 && x <= 3 ? 2 : 0));
        CHECK(low.row(y)[x] == (y >= 4 && x >= 6 && x <= 10 ? -3 : 0));
      }
    }
  }

  TEST_CASE("a reach of 0 changes nothing") {
    Plane plane(3, 3);
    plane.row(1)[1] = 5;
    CHECK(highest_nearby(plane, 0).row(1)[1] == 5);
    CHECK(highest_nearby(plane, 0).row(0)[1] == 0);
  }
}
