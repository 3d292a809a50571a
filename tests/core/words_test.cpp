#include "core/words.h"

#include <doctest/doctest.h>

using lull::binds_number;
using lull::counted;
using lull::percent_of;
using lull::with_bound_numbers;

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

  TEST_CASE("a number and its unit are one word, and so is a size") {
    const std::string text = "of 320 x 240 px, in 12 frames; 0.72 arcsec. x 3 s";
    CHECK(with_bound_numbers(text) ==
          "of 320\u00A0x\u00A0240\u00A0px, in 12 frames; 0.72\u00A0arcsec. x\u00A03\u00A0s");
    CHECK_FALSE(binds_number(text, 2));
    CHECK(binds_number(text, 6));
    CHECK_FALSE(binds_number(" px", 0));
    CHECK_FALSE(binds_number("3 ", 1));
    CHECK(with_bound_numbers("") == "");
  }
}
