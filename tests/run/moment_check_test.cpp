// Covers: run/moment_check
#include "run/moment_check.h"

#include <doctest/doctest.h>

#include "core/error.h"
#include "support/text.h"

using namespace lull;
using namespace lull::run;
using test::contains;

TEST_SUITE("run/moment_check") {
  namespace {

  Utc utc(const char* text) { return parse_iso8601(text).value(); }

  const TakenAt kTokyo{sky::Site{35.7, 139.7, 0}, "Asia/Tokyo"};
  const Utc kNow = utc("2026-12-01T00:00:00");

  }  // namespace

  // Heights by PyEphem: -24.8 degrees at 5 h UTC of that day, 67.6 degrees nine hours before.
  TEST_CASE("local time is noticed where the planet was not up, and what it was is said") {
    const std::vector<NamedMoment> moments = {{"a.fits", utc("2026-11-30T05:00:00")}};
    const std::string local = test::message_of<InputError>(
        [&] { static_cast<void>(check_moments(moments, sky::Body::jupiter, kTokyo, kNow)); });
    CAPTURE(local);
    CHECK(contains(local, "25 degrees below the horizon"));
    CHECK(contains(local, "the planet stood 68 degrees high: take 9 h off"));
    TakenAt no_zone = kTokyo;
    no_zone.zone.clear();
    const std::string unknown = test::message_of<InputError>(
        [&] { static_cast<void>(check_moments(moments, sky::Body::jupiter, no_zone, kNow)); });
    CHECK(contains(unknown, "25 degrees below the horizon"));
    CHECK_FALSE(contains(unknown, "take"));
    // Without a site nothing is known.
    CHECK(check_moments(moments, sky::Body::jupiter, {}, kNow).empty());
    CHECK(check_moments({{"a.fits", utc("2026-11-29T20:00:00")}}, sky::Body::jupiter, kTokyo, kNow)
              .empty());
  }

  TEST_CASE("a moment that is yet to come is noted once") {
    const Utc later = utc("2026-12-01T02:00:00");
    const auto notes =
        check_moments({{"a.fits", later}, {"b.fits", later}}, sky::Body::jupiter, {}, kNow);
    REQUIRE(notes.size() == 1);
    CHECK(contains(notes[0], "yet to come"));
    CHECK(check_moments({{"a.fits", utc("2026-12-01T00:02:00")}}, sky::Body::jupiter, {}, kNow)
              .empty());
    // The clock of this machine runs after this test was written.
    CHECK(seconds_between(utc("2026-01-01"), time_now()) > 0);
    CHECK(is_plausible(time_now()));
  }
}
