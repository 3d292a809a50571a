// Covers: health/health
#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "health/health.h"

namespace {

using namespace lull;
using namespace lull::health;

Health examined(Coverage coverage) {
  capture::FrameStore frames(capture::Capture::open(std::string(LULL_SAMPLES) + "/highland.mkv"),
                             0);
  return examine(frames, {.coverage = coverage}, {});
}

}  // namespace

TEST_SUITE("health/sparing") {
  TEST_CASE(
      "looking at some of the frames changes no record, and no figure by more than its error") {
    const Health all = examined(Coverage::all);
    const Health some = examined(Coverage::some_blocks);
    CHECK(all.frames_looked_at == all.survey.usable());
    CHECK(all.frames_looked_at == 200);
    CHECK(some.frames_looked_at == 96);  // blocks 0, 1 and 3 of 32 frames
    REQUIRE(some.survey.records.size() == all.survey.records.size());
    for (std::size_t i = 0; i < all.survey.records.size(); ++i) {
      CHECK(some.survey.records[i].sharpness == all.survey.records[i].sharpness);
      CHECK(some.survey.records[i].offset == all.survey.records[i].offset);
    }
    REQUIRE((all.noise && some.noise && all.noise->gain_e_per_adu && some.noise->gain_e_per_adu));
    // Three of the error of the poorer figure.
    CHECK(std::abs(*some.noise->gain_e_per_adu / *all.noise->gain_e_per_adu - 1) <
          3 * some.noise->gain_error);
    CHECK(std::abs(some.exposure.brightest() - all.exposure.brightest()) < 0.02);
    CHECK(some.place.kind == all.place.kind);
  }
}
