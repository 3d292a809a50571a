#include "sky/zone.h"

#include <fmt/format.h>

#include <string>
#include <vector>

#include "core/error.h"
#include "sky/sky_test.h"
#include "support/run_program.h"

using namespace lull;
using namespace lull::sky;

TEST_SUITE("sky/zone") {
  TEST_CASE("without a name it is UTC, rounded to the minute") {
    const Zone zone("");
    CHECK(zone.is_utc());
    CHECK(zone.minute_of(utc("2026-11-30T23:59:29")) == "2026-11-30 23:59");
    CHECK(zone.minute_of(utc("2026-11-30T23:59:30")) == "2026-12-01 00:00");
    CHECK(zone.clock_of(utc("2026-11-30T23:04:00")) == "23:04");
  }

  // Python's zoneinfo reads the same database with code of its own.
  TEST_CASE("local times as Python's zoneinfo has them, around both changes of the clock") {
    const std::vector<std::string> zones = {"Europe/Lisbon", "America/St_Johns", "Asia/Kathmandu",
                                            "Australia/Lord_Howe", "Pacific/Apia"};
    const std::vector<std::string> moments = {"1995-07-01T12:00:00", "2026-03-29T00:59:00",
                                              "2026-03-29T01:01:00", "2026-10-25T00:59:00",
                                              "2026-10-25T01:01:00", "2077-01-15T06:30:00"};
    std::string ours;
    for (const std::string& name : zones) {
      const Zone zone(name);
      for (const std::string& moment : moments) ours += zone.minute_of(utc(moment.c_str())) + "\n";
    }
    CHECK(ours ==
          test::reference_of("sky/local_time.py", {fmt::format("{}", fmt::join(zones, ",")),
                                                   fmt::format("{}", fmt::join(moments, ","))}));
  }

  TEST_CASE("a fixed difference from UTC, with its minutes") {
    CHECK(Zone("+01:00").clock_of(utc("2026-06-30T23:04:00")) == "00:04");
    CHECK(Zone("-03:30").minute_of(utc("2026-06-30T02:00:00")) == "2026-06-29 22:30");
  }

  TEST_CASE("names that are not in the database are refused") {
    for (const char* name : {"Europe/Nowhere", "../../etc/passwd", "europe/lisbon", " ", "+1:00",
                             "+25:00", "+01:60"}) {
      CAPTURE(name);
      CHECK_THROWS_AS(Zone{name}, UsageError);
    }
  }
}
