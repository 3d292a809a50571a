#include "core/utc.h"

#include <doctest/doctest.h>

#include <limits>
#include <string>

using namespace lull;

TEST_SUITE("core/utc") {
  // Computed with Python's datetime: (datetime(2022,9,28,22,13,20) - datetime(1,1,1)) in 100 ns.
  TEST_CASE("638000000000000000 ticks are 2022-09-28T22:13:20") {
    CHECK(iso8601({638'000'000'000'000'000}, 0) == "2022-09-28T22:13:20");
    CHECK(iso8601({638'000'000'000'000'001}, 7) == "2022-09-28T22:13:20.0000001");
    CHECK(iso8601({638'000'000'009'999'999}, 3) == "2022-09-28T22:13:20.999");
    CHECK(parse_iso8601("2022-09-28T22:13:20") == Utc{638'000'000'000'000'000});
    CHECK(parse_iso8601("2022-09-28T22:13:20.0000001Z") == Utc{638'000'000'000'000'001});
    CHECK(parse_iso8601("2022-09-28T22:13:20.000000999") == Utc{638'000'000'000'000'009});
    // 29 February of a leap year: (datetime(2024,2,29) - datetime(1,1,1)).days == 738944.
    CHECK(parse_iso8601("2024-02-29") == Utc{738'944LL * 86'400 * kTicksPerSecond});
    CHECK(iso8601({0}, 0) == "0001-01-01T00:00:00");
  }

  TEST_CASE("what is no such date is none") {
    for (const std::string text :
         {"", "2022", "2022-13-01", "2023-02-29", "2022-09-28T", "2022-09-28T24:00:00",
          "2022-09-28T22:13", "2022-09-28T22:13:20.", "2022-09-28T22:13:20+01:00", "28/09/2022",
          "0000-01-01", "2022-09-28 22:13:20"}) {
      CAPTURE(text);
      CHECK_FALSE(parse_iso8601(text));
    }
  }

  TEST_CASE("moments are plausible from 1990 to 2199") {
    CHECK_FALSE(is_plausible(parse_iso8601("1989-12-31T23:59:59").value()));
    CHECK(is_plausible(parse_iso8601("1990-01-01").value()));
    CHECK_FALSE(is_plausible(parse_iso8601("2200-01-01").value()));
    CHECK_FALSE(is_plausible({-1}));
    CHECK_FALSE(is_plausible({std::numeric_limits<std::int64_t>::max()}));
  }

  TEST_CASE("later by seconds, and back") {
    const Utc begin{638'000'000'000'000'000};
    CHECK(after(begin, 0.25).ticks - begin.ticks == 2'500'000);
    CHECK(seconds_between(begin, after(begin, 90.5)) == doctest::Approx(90.5));
  }
}
