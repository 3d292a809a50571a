#include "profile/time_zone.h"

#include <doctest/doctest.h>

using namespace lull::profile;

TEST_SUITE("profile/time_zone") {
  // The form of ISO 8601 (as in RFC 3339, time-numoffset).
  TEST_CASE("offsets are in minutes, east of Greenwich positive") {
    CHECK(fixed_offset_min("+01:00") == 60);
    CHECK(fixed_offset_min("-03:30") == -210);
    CHECK(fixed_offset_min("UTC") == 0);
    for (const char* text : {"+1", "01:00", "+01:60", "+15:00", "Etc/UTC", ""})
      CHECK_FALSE(fixed_offset_min(text).has_value());
  }

  TEST_CASE("names are those of the zone database") {
    CHECK(is_time_zone("Etc/UTC"));
    CHECK(is_time_zone("+05:45"));
    for (const char* text : {"Nowhere/Land", "../../etc/passwd", "", "/etc/passwd", "-"})
      CHECK_FALSE(is_time_zone(text));
  }
}
