#include "sky/night.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <string>

#include "sky/horizon.h"
#include "sky/sky_test.h"
#include "support/run_program.h"

using namespace lull;
using namespace lull::sky;

TEST_SUITE("sky/night") {
  constexpr Site kSite{41.2, -8.3, 350};

  double seconds_apart(Utc a, Utc b) { return std::abs(seconds_between(a, b)); }

  // PyEphem with a horizon at -34 arcmin and no air, upper limb; its positions are other theories'.
  TEST_CASE("rise, set, transit and twilight as PyEphem has them, to 15 s") {
    for (const auto& [year, month, day] : {std::tuple{2026, 11, 30}, {2027, 6, 21}, {2031, 3, 5}}) {
      const Interval span = noon_to_noon(kSite, year, month, day);
      const Night night(kSite, span);
      const auto theirs = nlohmann::json::parse(
          test::reference_of("sky/risings.py", {iso8601(span.from, 0), "41.2", "-8.3", "350"}));
      const auto at = [&](const std::string& body, const char* what) {
        return utc(theirs.at(body).at(what).get<std::string>().c_str());
      };
      int compared = 0;
      for (const Body body : kBodies) {
        const std::string name(body_name(body));
        CAPTURE(name);
        CAPTURE(iso8601(span.from, 0));
        for (const Interval& up : when_up(body, night)) {
          if (up.from > span.from) CHECK(seconds_apart(up.from, at(name, "rise")) < 15);
          if (up.to < span.to) CHECK(seconds_apart(up.to, at(name, "set")) < 15);
          compared += (up.from > span.from ? 1 : 0) + (up.to < span.to ? 1 : 0);
        }
        const auto transit = night.transit(body);
        if (transit && seconds_apart(*transit, span.from) > 60)
          CHECK(seconds_apart(*transit, at(name, "transit")) < 15);
      }
      CHECK(compared >= 14);
      const auto sun = night.altitudes_deg(Body::sun);
      const Intervals dark = night.below(sun, sun_altitude_deg(Twilight::nautical));
      REQUIRE(dark.size() == 1);
      CHECK(seconds_apart(dark[0].from, at("sun", "dusk")) < 15);
      CHECK(seconds_apart(dark[0].to, at("sun", "dawn")) < 15);
    }
  }

  TEST_CASE("in the far north the Sun does not set in June, nor rise in December") {
    const Site north{78.2, 15.6, 10};
    const Night summer(north, midnight_to_midnight(north, 2026, 6, 21));
    REQUIRE(when_up(Body::sun, summer).size() == 1);
    CHECK(std::abs(hours_of(when_up(Body::sun, summer)) - 24) < 1e-6);
    const Night winter(north, midnight_to_midnight(north, 2026, 12, 21));
    CHECK(when_up(Body::sun, winter).empty());
  }

  TEST_CASE(
      "a night goes from noon to noon, a day from midnight to midnight, by the Sun's mean time") {
    const Site east{0, 150, 0};
    CHECK(noon_to_noon(east, 2026, 11, 30).from == utc("2026-11-30T02:00:00"));
    CHECK(midnight_to_midnight(east, 2026, 11, 30).from == utc("2026-11-29T14:00:00"));
    CHECK(noon_to_noon(east, 2026, 11, 30).hours() == 24);
  }

  TEST_CASE("what two lists of intervals share") {
    const auto hour = [](double h) { return utc_of(2026, 1, 1, h); };
    const Intervals a = {{hour(0), hour(2)}, {hour(5), hour(9)}};
    const Intervals b = {{hour(1), hour(6)}, {hour(8), hour(12)}};
    const Intervals common = both(a, b);
    REQUIRE(common.size() == 3);
    CHECK(common[0].from == hour(1));
    CHECK(common[1].to == hour(6));
    CHECK(std::abs(hours_of(common) - 3) < 1e-9);
    CHECK(both(a, {}).empty());
  }

  TEST_CASE("intervals end where the values cross a level") {
    const Interval span{utc("2026-01-01"), utc("2026-01-01T00:20:00")};
    const Night night(kSite, span);
    const std::vector<double> values = {0, 10, 20, 10, 0};
    const Intervals high = night.above(values, 15);
    REQUIRE(high.size() == 1);
    CHECK(high[0].from == utc("2026-01-01T00:07:30"));
    CHECK(high[0].to == utc("2026-01-01T00:12:30"));
    CHECK(std::abs(hours_of(night.below(values, 15)) + hours_of(high) - 1.0 / 3) < 1e-9);
    CHECK(night.above(values, 30).empty());
  }
}
