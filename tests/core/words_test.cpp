#include "core/words.h"

#include <doctest/doctest.h>

using lull::counted;
using lull::percent_of;

TEST_SUITE("core/words") {
  TEST_CASE("one thing is no plural") {
    CHECK(counted(0, "gap") == "0 gaps");
    CHECK(counted(1, "gap") == "1 gap");
    CHECK(counted(2, "gap") == "2 gaps");
  }

  TEST_CASE("percents have two digits, however small") {
    CHECK(percent_of(0, 100) == "0%");
    CHECK(percent_of(5, 0) == "0%");
    CHECK(percent_of(1, 3) == "33%");
    CHECK(percent_of(1, 1) == "100%");
    CHECK(percent_of(34, 100000) == "0.034%");
    CHECK(percent_of(25, 1000) == "2.5%");
    CHECK(percent_of(1, 1000000) == "less than 0.001%");
  }
}
