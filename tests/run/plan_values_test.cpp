#include "run/plan_values.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "core/error.h"
#include "run/plan_request.h"
#include "support/text.h"

using namespace lull;
using namespace lull::run;

TEST_SUITE("run/plan_values") {
  TEST_CASE("a site is read with and without its height, and written as it is read") {
    const auto site = parse_site("-33.5,151.25,620");
    REQUIRE(site);
    CHECK(site->latitude_deg == -33.5);
    CHECK(site->longitude_deg == 151.25);
    CHECK(site->height_m == 620);
    CHECK(parse_site(site_option_text(site))->longitude_deg == 151.25);
    CHECK(parse_site("46.5,8.25")->height_m == 0);
  }

  TEST_CASE("values that cannot be are refused, and the message names what can") {
    const auto refused = [](auto parse, const std::string& text) {
      CAPTURE(text);
      const std::string message =
          test::message_of<UsageError>([&] { static_cast<void>(parse(text)); });
      CAPTURE(message);
      CHECK(test::contains(message, "invalid value"));
    };
    for (const char* text :
         {"", "46.5", "90.1,0", "0,181", "46,8,9001", "46,8,1,2", "46 8", "N46,E8"})
      refused(parse_site, text);
    for (const char* text : {"", "2026-11-31", "30.11.2026", "1949-12-31", "2101-01-01",
                             "2026-11-30T20:00:00", "tomorrow"})
      refused(parse_date, text);
    for (const char* text : {"", "red", "red:", "red:600", "red:700-600", "red:600-600", ":600-700",
                             "red:0-700", "red:600-700-800"})
      refused(parse_band, text);
    for (const char* text :
         {"", "jupiter", "jupiter:oval:2", "pluto:oval:3:10", "jupiter:oval:4:10", "mars:dust:2:10",
          "jupiter:oval:2:x", "jupiter:oval:2:10:2026-13-01:0", "jupiter:oval:2:10:2026-11-01",
          "jupiter:oval:2:10:2026-11-01:x"})
      refused(parse_storm, text);
  }

  TEST_CASE("bands and storms are written as they are read") {
    CHECK(band_option_text(parse_band("H alpha: 7:653-660")) == "H alpha: 7:653-660");
    for (const char* text :
         {"jupiter:oval:2:62.5", "mars:cloud:3:-10", "jupiter:oval:1:62.5:2026-11-01:-0.03"})
      CHECK(storm_option_text(parse_storm(text)) == text);
  }

  TEST_CASE("a sensor has two sides") {
    CHECK(sensor_option_text(parse_sensor("1936x1216")) == "1936x1216");
    for (const char* text : {"", "1936", "x", "1936x", "1936x1216x3", "8x8", "-1936x1216"})
      CHECK_THROWS_AS(static_cast<void>(parse_sensor(text)), UsageError);
  }

  // By hand: 30 days at -0.5 degrees a day.
  TEST_CASE("a storm drifts from where it was seen") {
    const Storm storm = parse_storm("jupiter:oval:2:5:2026-11-01:-0.5");
    CHECK(std::abs(storm.longitude_at(parse_iso8601("2026-12-01").value()) - 350) < 1e-9);
    CHECK(parse_storm("jupiter:oval:2:5").longitude_at(Utc{}) == 5);
  }

  TEST_CASE("one target or all of them") {
    PlanRequest request;
    CHECK_THROWS_AS(static_cast<void>(planned_bodies(request)), UsageError);
    request.target = "saturn";
    CHECK(planned_bodies(request) == std::vector{sky::Body::saturn});
    request.targets = PlannedTargets::all;
    CHECK_THROWS_AS(static_cast<void>(planned_bodies(request)), UsageError);
    request.target.clear();
    CHECK(planned_bodies(request).size() == 9);
    request = {};
    request.target = "satrun";
    const auto message =
        test::message_of<UsageError>([&] { static_cast<void>(planned_bodies(request)); });
    CHECK(test::contains(message, "Did you mean saturn?"));
  }
}
