#include "sky/moment.h"

#include "sky/sky_test.h"

using namespace lull;
using namespace lull::sky;

TEST_SUITE("sky/moment") {
  // Meeus, Astronomical Algorithms, 2nd ed., examples 43.a, 42.a and 29.a: 0h UT as JDE.
  TEST_CASE("terrestrial time of three worked examples, to their last digit") {
    CHECK(std::abs(moment_of(utc("1992-12-16")).terrestrial.sum() - 2448972.50068) < 1e-5);
    CHECK(std::abs(moment_of(utc("1992-11-09")).terrestrial.sum() - 2448935.500683) < 3e-6);
    CHECK(std::abs(moment_of(utc("1992-10-13")).terrestrial.sum() - 2448908.50068) < 1e-5);
  }

  // IERS Bulletin C: 27 s until the end of June 1992... 37 s since 2017 (from memory).
  TEST_CASE("a leap second passes") {
    const auto later_s = [](const char* text) {
      const Moment moment = moment_of(utc(text));
      return 86'400 * ((moment.terrestrial.whole - moment.universal.whole) +
                       (moment.terrestrial.part - moment.universal.part));
    };
    CHECK(std::abs(later_s("2016-12-31T23:59:59") - 68.184) < 1e-5);
    CHECK(std::abs(later_s("2017-01-01") - 69.184) < 1e-5);
    CHECK(std::abs(later_s("2090-01-01") - 69.184) < 1e-5);
  }

  TEST_CASE("days since 2000 count from noon, less the light's way") {
    CHECK(std::abs(moment_of(utc("2000-01-01T12:00:00")).days_since_2000() - 64.184 / 86'400) <
          1e-9);
    CHECK(std::abs(moment_of(utc("2000-01-03T12:00:00")).days_since_2000(86'400 + 64.184) - 1) <
          1e-9);
  }

  TEST_CASE("1950 to 2100 are covered") {
    CHECK_FALSE(is_covered(utc("1949-12-31T23:59:59")));
    CHECK(is_covered(utc("1950-01-01")));
    CHECK(is_covered(utc("2100-12-31T23:59:59")));
    CHECK_FALSE(is_covered(utc("2101-01-01")));
  }

  TEST_CASE("hours go on past a day and below 0") {
    CHECK(utc_of(2024, 2, 28, 26.5) == utc("2024-02-29T02:30:00"));
    CHECK(utc_of(2024, 3, 1, -1) == utc("2024-02-29T23:00:00"));
  }
}
