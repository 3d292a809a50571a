#include "health/findings.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "support/memory_capture.h"

namespace {

using namespace lull;
using health::Health;

// A capture without findings.
Health healthy() {
  Health health;
  for (int i = 0; i < 2000; ++i) {
    quality::FrameRecord record;
    record.index = i;
    record.time_s = 0.01 * i;
    record.sharpness = 1 + 0.2 * std::sin(0.7 * i);
    record.offset = {std::sin(0.3 * i), std::cos(0.5 * i)};
    health.survey.records.push_back(record);
  }
  health.exposure.channels.push_back({.lowest = 0.02, .median = 0.4, .brightest = 0.8});
  health.timing = health::timing_of(health.survey.records);
  health.motion = health::motion_of(health.survey.records, {1.0, 1.5}, health::DriftUnit::px_per_s);
  health.trend = health::trend_of(health.survey.records);
  health.noise = health::PhotonTransfer{{{100, 4, 1e4}, {3000, 40, 1e4}}, 80.0, 0.02, 2, 1};
  health.faint_noise_adu = 2;
  health.detail = health::DetailSpectrum{{{0.1, 10}, {0.3, 1.0}}, 0.3};
  return health;
}

std::vector<std::string> names(const Health& health,
                               const std::optional<health::Optics>& optics = std::nullopt,
                               const std::string& codec = "ffv1") {
  auto info = test::mono_info({640, 480}, 12);
  info.storage.codec = codec;
  std::vector<std::string> out;
  for (const auto& finding : health::findings_of(info, health, optics)) {
    CHECK(!finding.what.empty());
    CHECK(!finding.next.empty());
    out.push_back(finding.name);
  }
  return out;
}

using Names = std::vector<std::string>;

}  // namespace

TEST_SUITE("health/findings") {
  TEST_CASE("a healthy capture has no findings") { CHECK(names(healthy()).empty()); }

  TEST_CASE("each fault has its own finding, and only that") {
    auto health = healthy();
    health.exposure.saturated_frames = 0.12;
    CHECK(names(health) == Names{"saturated"});
    health = healthy();
    health.exposure.channels[0].brightest = 0.2;
    CHECK(names(health) == Names{"dim"});
    health = healthy();
    health.exposure.channels[0].at_zero = 0.05;
    CHECK(names(health).empty());  // dark, but not piled up
    health.exposure.channels[0].piled_at_zero = true;
    CHECK(names(health) == Names{"clipped_black"});
    health = healthy();
    health.exposure.channels[0].skipped = 0.5;
    CHECK(names(health) == Names{"skipped_levels"});
    health = healthy();
    health.faint_noise_adu = 0.3;
    CHECK(names(health) == Names{"coarse_levels"});
    health = healthy();
    health.noise->whiteness = 0.5;
    CHECK(names(health) == Names{"smoothed_noise"});
    health = healthy();
    health.pattern = health::Pattern{0.1, 0.7, true};
    CHECK(names(health) == Names{"pattern_noise"});
    health.pattern->rows_adu = 0.3;
    CHECK(names(health).empty());  // well below the noise
    health.pattern = health::Pattern{0.7, 0.1, false};
    CHECK(names(health).empty());  // perhaps chance
    CHECK(names(healthy(), {}, "mjpeg") == Names{"lossy"});
    health = healthy();
    health.survey.records[7].reject = Reject::damaged;
    CHECK(names(health) == Names{"damaged"});
    health.survey.records[7].reject = Reject::doubled;
    CHECK(names(health) == Names{"doubled"});
    health.survey.records[7].reject = Reject::black;
    CHECK(names(health) == Names{"gone"});
    health = healthy();
    health.timing->gaps = 2;
    health.timing->missing_frames = 5;
    CHECK(names(health) == Names{"dropped"});
    health = healthy();
    health.timing->unevenness = 0.4;
    CHECK(names(health) == Names{"uneven"});
    health.timing->too_coarse = true;
    CHECK(names(health).empty());  // rounded stamps
    health = healthy();
    health.timing->backwards = true;
    CHECK(names(health) == Names{"time_backwards"});
    for (const Displacement range : {Displacement{200, 3}, {3, 150}}) {
      health = healthy();
      health.motion->range = range;
      CHECK(names(health) == Names{"wander"});
    }
    health = healthy();
    health.motion->jitter_px = 5;
    CHECK(names(health) == Names{"jitter"});
    health = healthy();
    health.trend->change = 0.3;
    health.trend->significant = true;
    CHECK(names(health).empty());  // it rises
    health = healthy();
    health.place.kind = health::Kind::disc;
    health.place.cut_frames = 0.1;
    CHECK(names(health) == Names{"cut"});
    health.place.cut_frames = 0;
    health.place.frame_share = 0.01;
    CHECK(names(health) == Names{"small"});
    health = healthy();
    health.motion->x = {0, 5, 4, 6};
    CHECK(names(health) == Names{"drift"});
    health.motion->x = {0, 5, -1, 11};
    CHECK(names(health).empty());  // not proven
    health = healthy();
    health.trend->change = -0.3;
    CHECK(names(health).empty());
    health.trend->significant = true;
    CHECK(names(health) == Names{"sharpness_falls"});
    health.steadiness = health::Steadiness{{}, health::Step{1000, -0.4}, 0.02};
    CHECK(names(health) == Names{"focus_changes"});  // all at once: no slow fall
    health = healthy();
    health.steadiness = health::Steadiness{health::Step{700, 0.3}, health::Step{700, -0.4}, 0.02};
    CHECK(names(health) == Names{"light_changes"});  // sharpness changes with it
    health.steadiness = health::Steadiness{{}, {}, 0.5};
    CHECK(names(health) == Names{"light_varies"});
    health = healthy();
    health.interlace = health::Interlace{0.5, 0.05};
    CHECK(names(health) == Names{"interlaced"});
    health.interlace = health::Interlace{0.5, 0.3};
    CHECK(names(health).empty());  // perhaps noise
    health = healthy();
    for (auto& record : health.survey.records)
      if (record.index % 4 != 0) record.reject = Reject::doubled;
    CHECK(names(health) == Names{"doubled"});
    health = healthy();
    health.survey.orientation.turned = {{{1000, 1999}, Turn::half}};
    health.trend->change = -0.3;
    health.trend->significant = true;
    health.steadiness = health::Steadiness{{}, health::Step{1000, -0.4}, 0.5};
    CHECK(names(health) == Names{"turned"});  // the others are those of other places
    health = healthy();
    health.survey.records.resize(100);
    CHECK(names(health) == Names{"few_frames"});
    health = healthy();
    health.detail->to_the_end = true;
    CHECK(names(health) == Names{"undersampled"});
  }

  TEST_CASE("sampling is judged by the optics where they are known") {
    // 2 px per lambda / D is Nyquist's condition: f/3.64 p at 550 nm.
    const auto optics = [](double factor) {
      return health::Optics{200, 200 * 3.63636 * 3 * factor, 3, 550};
    };
    CHECK(names(healthy(), optics(0.9)) == Names{"undersampled"});
    CHECK(names(healthy(), optics(1.1)).empty());
    CHECK(names(healthy(), optics(2.5)) == Names{"oversampled"});
  }

  TEST_CASE("nothing above the noise is the one finding of a dark") {
    auto health = healthy();
    health.detail->limit.reset();
    health.exposure.channels[0].brightest = 0.03;
    CHECK(names(health) == Names{"no_detail"});
  }

  TEST_CASE("calibrated samples are not judged as the camera's") {
    auto health = healthy();
    health.samples = health::Samples::calibrated;
    health.exposure.channels[0] = {
        .at_zero = 0.3, .brightest = 0.8, .skipped = 0.6, .piled_at_zero = true};
    health.faint_noise_adu = 0.2;
    CHECK(names(health).empty());
  }
}
