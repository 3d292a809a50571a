#include "capture/sequence_pattern.h"

#include <doctest/doctest.h>

#include <string>

using namespace lull::capture;

TEST_SUITE("capture/sequence_pattern") {
  TEST_CASE("a pattern is one %d or %0Nd in the last part of a path; %% is a percent sign") {
    const auto pattern = parse_pattern("night %d/moon_%04d 50%%.png");
    REQUIRE(pattern.has_value());
    CHECK(pattern->folder == "night %d/");
    CHECK(pattern->before == "moon_");
    CHECK(pattern->digits == 4);
    CHECK(pattern->after == " 50%.png");
    CHECK(pattern->path_of(7) == "night %d/moon_0007 50%.png");
    for (const char* none : {"moon.png", "%s.png", "%d_%d.png", "50%", "moon_%0999d.png", ""})
      CHECK(!parse_pattern(none).has_value());
  }

  TEST_CASE("the digits of a name that fits are found, whatever their number") {
    const auto pattern = parse_pattern("moon_%04d.png");
    REQUIRE(pattern.has_value());
    CHECK(pattern->digits_in("moon_0012.png") == "0012");
    CHECK(pattern->digits_in("moon_12.png") == "12");
    for (const char* none : {"moon_.png", "moon_12.tif", "moon_1a.png", "moon_-1.png", "sun_1.png"})
      CHECK(!pattern->digits_in(none).has_value());
  }

  TEST_CASE("a pattern of a million characters is read like a short one") {
    const std::string long_text(1'000'000, 'x');
    const auto pattern = parse_pattern(long_text + "%d" + long_text);
    REQUIRE(pattern.has_value());
    CHECK(pattern->digits_in(long_text + "5" + long_text) == "5");
    CHECK(!parse_pattern(long_text).has_value());
  }
}
