#include "desk/capture_trend.h"

#include <doctest/doctest.h>

#include <cmath>
#include <nlohmann/json.hpp>

TEST_SUITE("desk/capture_trend") {
  namespace {

  using namespace lull;
  using nlohmann::json;

  // Whose middle is a minute after `begun`.
  desk::ListedCapture capture_of(const std::string& name, const std::string& begun) {
    desk::ListedCapture out;
    out.found.name = name;
    out.found.path = "/captures/" + name;
    out.info.emplace();
    out.info->times.begun = parse_iso8601(begun);
    out.info->times.frames_per_s = 50;
    out.info->storage.likely_frames = 6000;
    return out;
  }

  profile::Profile somewhere() {
    profile::Profile out;
    out.site = profile::Site{"", 46.5, 8.25, 1650, ""};
    return out;
  }

  desk::SurveyOfCapture survey_of(const std::vector<double>& sharpness) {
    desk::SurveyOfCapture out;
    for (const double one : sharpness) {
      quality::FrameRecord& frame = out.rank.survey.records.emplace_back();
      frame.sharpness = one;
      if (one < 0) frame.reject = Reject::damaged;
    }
    return out;
  }

  }  // namespace

  TEST_CASE("the altitude is that of astropy in the middle of the capture, to 0.05 degrees") {
    // astropy 5.2.1, get_body with its own ephemeris and AltAz without air, at 46.5 N 8.25 E, 1650
    // m.
    const struct {
      const char* name;
      const char* begun;
      double altitude_deg;
    } known[] = {{"saturn_01.ser", "2023-11-14T18:59:00", 29.393},
                 {"2026-02-10_jupiter.ser", "2026-02-10T21:29:00", 66.043},
                 {"moon.ser", "2026-03-28T19:59:00", 60.307}};

    for (const auto& one : known) {
      CAPTURE(one.name);
      const auto altitude = desk::altitude_deg(capture_of(one.name, one.begun), somewhere());
      REQUIRE(altitude);
      CHECK(std::abs(*altitude - one.altitude_deg) < 0.05);
    }
  }

  TEST_CASE("without object, moment or site no altitude is made up") {
    const std::string begun = "2026-02-10T21:29:00";
    CHECK_FALSE(desk::altitude_deg(capture_of("first.ser", begun), somewhere()));
    CHECK_FALSE(desk::altitude_deg(capture_of("star.ser", begun), somewhere()));
    CHECK_FALSE(desk::altitude_deg(capture_of("moon.ser", begun), {}));
    CHECK_FALSE(desk::altitude_deg(capture_of("moon.ser", "no moment"), somewhere()));
    CHECK(desk::body_named(capture_of("Lunar_1.ser", begun).found) == sky::Body::moon);
  }

  TEST_CASE("the figures of a night are of usable frames, and null where nothing is known") {
    std::vector<double> sharpness = {-1};
    for (int i = 0; i <= 100; ++i) sharpness.push_back(i);
    const auto capture = capture_of("first.ser", "2026-02-10T21:29:00");
    const json figures = {{"air", {{"d_over_r0", 5.5}}}};
    const json trend = desk::trend_json(capture, survey_of(sharpness), {}, figures);
    CHECK(trend.at("sharpness_middle") == 50);
    CHECK(trend.at("sharpness_best_tenth") == 90);
    CHECK(trend.at("d_over_r0") == 5.5);
    CHECK(trend.at("altitude_deg").is_null());
    const json nothing = desk::trend_json(capture, survey_of({-1}), {}, json::object());
    for (const auto& [key, value] : nothing.items()) CHECK(value.is_null());
    CHECK(
        desk::trend_json(capture, survey_of({}), {}, {{"air", nullptr}}).at("d_over_r0").is_null());
  }
}
