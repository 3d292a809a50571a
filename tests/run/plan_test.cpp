// Covers: run/plan_request, run/plan_outcome, run/run_plan, run/target_plan, run/recording_plan
// Covers: sky/visibility, run/plan_settings, run/panel_plan, run/site_options
#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <numbers>
#include <string>

#include "core/error.h"
#include "run/plan_outcome.h"
#include "run/profile_options.h"
#include "sky/aspect.h"
#include "sky/horizon.h"
#include "support/text.h"

using namespace lull;
using namespace lull::run;

TEST_SUITE("run/plan") {
  namespace {

  Utc utc(const char* text) { return parse_iso8601(text).value(); }

  PlanRequest request_for(const std::string& target) {
    PlanRequest request;
    request.target = target;
    request.site = sky::Site{46.5, 8.25, 1650};
    request.date = "2026-11-30";
    return request;
  }

  TargetPlan plan_of(const PlanRequest& request) {
    return make_plan(request, utc("2026-01-01")).targets.front();
  }

  }  // namespace

  TEST_CASE("planets are recorded with the Sun 6 degrees down, the Moon with the Sun down") {
    const sky::Site site{46.5, 8.25, 1650};
    for (const char* target : {"jupiter", "moon", "venus", "mercury"}) {
      CAPTURE(target);
      const TargetPlan plan = plan_of(request_for(target));
      REQUIRE_FALSE(plan.recordable.empty());
      const bool faint = plan.body == sky::Body::jupiter;
      for (const sky::Interval& interval : plan.recordable) {
        const sky::Observer middle(after(interval.from, 1800 * interval.hours()), site);
        CHECK(sky::horizontal(sky::Body::sun, middle).altitude_deg < (faint ? -6 : -0.8));
        CHECK(sky::horizontal(plan.body, middle).altitude_deg > -0.6);
      }
      const double dawn =
          sky::horizontal(sky::Body::sun, sky::Observer(plan.recordable.back().to, site))
              .altitude_deg;
      CHECK(std::abs(dawn - (faint ? -6 : -0.84)) < 0.03);
    }
  }

  TEST_CASE("the best moment is the transit where it is dark then, else an end of the dark") {
    const TargetPlan jupiter = plan_of(request_for("jupiter"));
    REQUIRE(jupiter.best);
    CHECK(jupiter.best->at == jupiter.transit);
    CHECK(std::abs(jupiter.best->azimuth_deg - 180) < 0.1);
    const TargetPlan venus = plan_of(request_for("venus"));
    REQUIRE(venus.best);
    CHECK(venus.best->at == venus.recordable.back().to);
    CHECK(venus.hours_above_20 > venus.hours_above_30);
  }

  TEST_CASE("a longitude passes the middle when the central meridian is there") {
    PlanRequest request = request_for("jupiter");
    for (const double longitude : {62.0, 200.0, 359.0})
      request.storms.push_back(
          {sky::Body::jupiter, "oval", sky::LongitudeSystem::two, longitude, {}, 0});
    request.storms.push_back({sky::Body::mars, "cloud", sky::LongitudeSystem::three, 10, {}, 0});
    const TargetPlan plan = plan_of(request);
    REQUIRE(plan.storms.size() == 3);
    std::size_t passes = 0;
    for (const StormPassages& storm : plan.storms) {
      for (const Utc at : storm.passes) {
        const double middle = sky::central_meridian_deg(
            sky::Body::jupiter, sky::Observer(at, request.site), sky::LongitudeSystem::two);
        CHECK(std::abs(sky::half_turn(middle - storm.stands.longitude_deg)) < 0.02);
        ++passes;
      }
    }
    // 8.5 hours of dark are 310 degrees.
    CHECK(passes >= 2);
    CHECK(passes <= 3);
  }

  // references of the smear: R (2 pi / P) t. A radius of 240 px of 0.1 arcsec in System III:
  // 1 px in 23.69 s (computed from the period of Archinal et al. 2018).
  TEST_CASE("the smear of a planet follows from its radius in pixels and its period") {
    PlanRequest request = request_for("jupiter");
    request.instrument = {250, 3750, 3.75, 550};
    const TargetPlan plan = plan_of(request);
    REQUIRE(plan.recording);
    const double radius_px = 0.5 * plan.recording->diameter_px;
    const double period_s = 9 * 3600 + 50 * 60 + 30.003;  // System I
    CHECK(
        std::abs(plan.recording->smears[0].one_px_s * 2 * std::numbers::pi * radius_px / period_s -
                 1) < 0.002);
    CHECK(plan.recording->smears[2].half_px_s > 1.9 * plan.recording->smears[0].half_px_s);
    // Optics: 206.265 x 3.75 / 3750 arcsec, lambda N / pixel (W. J. Smith, Modern Optical
    // Engineering, from memory).
    CHECK(std::abs(plan.recording->scale_arcsec_per_px - 0.206265) < 1e-5);
    CHECK(std::abs(plan.recording->px_per_lambda_over_d - 0.55 * 15 / 3.75) < 1e-9);
    CHECK(std::abs(plan.series_minutes() - 60 * period_s / 21600) < 0.3);
  }

  // By hand: 2 and 3 pixels in lambda / D.
  TEST_CASE("an extender brings lambda / D to two or three pixels") {
    PlanRequest request = request_for("jupiter");
    request.instrument = {200, 1000, 4, 500};  // 0.625 px
    const TargetPlan plan = plan_of(request);
    CHECK(std::abs(plan.recording->extender_least - 3.2) < 1e-9);
    CHECK(std::abs(plan.recording->extender_most - 4.8) < 1e-9);
  }

  TEST_CASE("light counts with area, pixel and band, and frames with the square of the signal") {
    PlanRequest request = request_for("saturn");
    request.instrument = {100, 1000, 4, 550};
    request.bands = {{"a", {500, 600}}, {"b", {500, 700}}};
    const TargetPlan small = plan_of(request);
    request.instrument = {200, 1000, 4, 550};
    request.signal_to_noise = 400;
    const TargetPlan large = plan_of(request);
    const BandExposure& a = small.recording->exposures[0];
    CHECK(std::abs(small.recording->exposures[1].electrons_per_ms / a.electrons_per_ms - 2) < 1e-9);
    const BandExposure& wide = large.recording->exposures[0];
    CHECK(std::abs(wide.electrons_per_ms / a.electrons_per_ms - 4) < 1e-9);
    CHECK(std::abs(wide.frames * wide.electrons / (a.frames * a.electrons) - 4) < 0.1);
    CHECK(a.exposure_ms <= 10);
    CHECK(std::abs(a.electrons - a.exposure_ms * a.electrons_per_ms) < 1e-9);
  }

  TEST_CASE("what never rises has no best moment, and is described for the middle of the night") {
    PlanRequest request = request_for("mercury");
    request.site = sky::Site{78, 15, 0};
    request.date = "2026-12-21";
    const TargetPlan plan = plan_of(request);
    CHECK(plan.up.empty());
    CHECK_FALSE(plan.best);
    CHECK(plan.dispersion.empty());
    CHECK(plan.described == after(plan.span.from, 43'200));
    CHECK(plan.aspect.equatorial_arcsec > 4);
  }

  TEST_CASE("without a date it is the night that is now, or comes next, at the site") {
    PlanRequest request = request_for("mars");
    request.date.clear();
    // Local mean time is 33 minutes ahead of UTC.
    CHECK(make_plan(request, utc("2026-11-30T11:20:00")).date == "2026-11-29");
    CHECK(make_plan(request, utc("2026-11-30T11:30:00")).date == "2026-11-30");
    CHECK(make_plan(request, utc("2026-12-01T03:00:00")).date == "2026-11-30");
  }

  TEST_CASE("first and last day that are accepted") {
    PlanRequest request = request_for("jupiter");
    request.site = sky::Site{0, 180, 0};
    request.date = "1950-01-01";
    CHECK(plan_of(request).aspect.distance_au > 3.9);
    request.site = sky::Site{0, -180, 0};
    request.date = "2100-12-31";
    CHECK(plan_of(request).aspect.distance_au < 6.5);
  }

  TEST_CASE("the Sun has its caution, and so has what stands near it") {
    const auto caution = [](PlanRequest request) {
      return make_plan(request, utc("2026-01-01")).caution;
    };
    CHECK(test::contains(caution(request_for("sun")), "certified full-aperture filter"));
    CHECK(test::contains(caution(request_for("mercury")), "17 degrees from the Sun"));
    CHECK(caution(request_for("jupiter")).empty());
    PlanRequest all = request_for("");
    all.targets = PlannedTargets::all;
    CHECK(test::contains(caution(all), "certified full-aperture filter"));
  }

  TEST_CASE("a profile gives site, zone, filters and storms") {
    profile::Profile mine;
    mine.site = profile::Site{"Ridge", 46.5, 8.25, 1650, "+01:00"};
    mine.filters = {{"R", 630, 100.0, {}}, {"clear", 550, {}, {}}};
    mine.camera = profile::Camera{};
    mine.camera->width_px = 1936;
    mine.camera->height_px = 1216;
    mine.storms = {{"jupiter", "oval: north", 2, 62, "2026-11-01", -0.1},
                   {"mars", "cloud", 2, 10, "", 0.0},
                   {"star", "none", 2, 10, "", 0.0}};
    PlanRequest request;
    apply_profile(mine, plan_options(), PlanRequest{}, request);
    CHECK(request.site->height_m == 1650);
    CHECK(request.zone == "+01:00");
    CHECK(request.sensor == Size{1936, 1216});
    REQUIRE(request.bands.size() == 1);
    CHECK(request.bands[0].band.from_nm == 580);
    CHECK(request.bands[0].band.to_nm == 680);
    REQUIRE(request.storms.size() == 2);
    CHECK(request.storms[0].name == "oval  north");
    CHECK(request.storms[0].drift_deg_per_day == -0.1);
    CHECK(request.storms[1].system == sky::LongitudeSystem::three);
  }

  // Phase 89.706, bright limb 111.934 degrees, 1923.242 arcsec (tests/sky/aspect_test.cpp compares
  // such values with published ones). The count is of numpy: see tests/sky/panels_test.cpp.
  TEST_CASE("frames cover the half Moon of that night, or the whole Sun") {
    PlanRequest request = request_for("moon");
    request.instrument.aperture_mm = 250;
    request.instrument.focal_length_mm = 3750;
    request.instrument.pixel_um = 3.75;
    request.sensor = Size{1936, 1216};
    request.panels = PanelChoice::yes;
    const PanelPlan moon = plan_of(request).panels.value();
    CHECK(std::abs(moon.field.width_arcsec - 206.265 * 1936 * 3.75 / 3750) < 0.01);
    CHECK(moon.panels.size() == 32);
    CHECK(moon.panels.front().on_terminator);
    CHECK(panel_map(moon).labels.size() == 32);
    // A map that shows a circle as one: 400 x 320 px.
    const draw::Plot map = panel_map(moon);
    CHECK((map.x.range->high - map.x.range->low) / (map.y.range->high - map.y.range->low) ==
          doctest::Approx(400.0 / 320));
    request.target = "sun";
    const PanelPlan sun = plan_of(request).panels.value();
    CHECK(sun.panels.size() == 63);
    CHECK(panel_map(sun).series.size() == 3);
    request.target = "mars";
    CHECK_THROWS_AS(static_cast<void>(plan_of(request)), UsageError);
    request.target = "moon";
    request.instrument.focal_length_mm = 1e5;
    CHECK_THROWS_AS(static_cast<void>(plan_of(request)), UsageError);
    request.sensor.reset();
    CHECK_THROWS_AS(static_cast<void>(plan_of(request)), UsageError);
  }

  TEST_CASE("without a site, or with half of the optics, nothing is planned") {
    PlanRequest request = request_for("mars");
    request.site.reset();
    const auto message =
        test::message_of<UsageError>([&] { static_cast<void>(make_plan(request, Utc{})); });
    CHECK(test::contains(message, "--site LAT,LON is missing"));
    request = request_for("mars");
    request.instrument.aperture_mm = 200;
    CHECK_THROWS_AS(static_cast<void>(make_plan(request, Utc{})), UsageError);
  }
}
