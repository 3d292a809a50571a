#include "health/timing.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

namespace {

using lull::Reject;
using lull::health::timing_of;
using lull::quality::FrameRecord;

std::vector<FrameRecord> records_at(const std::vector<double>& times_s) {
  std::vector<FrameRecord> records;
  for (const double time : times_s) {
    FrameRecord record;
    record.index = static_cast<lull::FrameIndex>(records.size());
    record.time_s = time;
    records.push_back(record);
  }
  return records;
}

// Stamps rounded to 1 ms, the default of Matroska (RFC 9559): 300 frames/s then reads 0 3 7 10 13.
std::vector<double> rounded(int frames, double frames_per_s, int lost_after = -1, int lost = 0) {
  std::vector<double> times;
  for (int i = 0; i < frames; ++i) {
    const int tick = i + (lost_after >= 0 && i > lost_after ? lost : 0);
    times.push_back(std::round(1000 * tick / frames_per_s) / 1000);
  }
  return times;
}

}  // namespace

TEST_SUITE("health/timing") {
  TEST_CASE("stamps rounded to a millisecond have their rate and no gaps") {
    for (const double rate : {12.5, 30.0, 90.0, 150.0, 300.0}) {
      CAPTURE(rate);
      const auto timing = timing_of(records_at(rounded(600, rate)));
      REQUIRE(timing);
      CHECK(std::abs(timing->frames_per_s() / rate - 1) < 1e-3);
      CHECK(timing->gaps == 0);
      CHECK(!timing->backwards);
      CHECK(!timing->too_coarse);
    }
  }

  TEST_CASE("a gap is counted in frames, with its place and length") {
    for (const double rate : {30.0, 90.0, 300.0}) {
      CAPTURE(rate);
      const auto timing = timing_of(records_at(rounded(200, rate, 120, 3)));
      REQUIRE(timing);
      CHECK(timing->gaps == 1);
      CHECK(timing->missing_frames == 3);
      CHECK(std::abs(timing->longest_gap_s - 4 / rate) < 1.1e-3);
      CHECK(std::abs(timing->longest_gap_at_s - 120 / rate) < 0.6e-3);
      CHECK(std::abs(timing->duration_s - 203 / rate) < 2e-3);
    }
  }

  TEST_CASE("a frame that could not be decoded is no gap") {
    auto records = records_at(rounded(100, 50));
    records[40].reject = Reject::damaged;
    records[40].time_s = 0;
    const auto timing = timing_of(records);
    REQUIRE(timing);
    CHECK(timing->gaps == 0);
    CHECK(!timing->backwards);
  }

  TEST_CASE("stamps that go back are reported, and too coarse ones are not used for gaps") {
    auto times = rounded(100, 50);
    times[50] = times[48];
    CHECK(timing_of(records_at(times))->backwards);
    CHECK(timing_of(records_at(rounded(2000, 1000)))->too_coarse);
    CHECK(timing_of(records_at(rounded(2000, 1000)))->gaps == 0);
  }

  TEST_CASE("a pause from one capture to the next is no gap, whichever of them is the earlier") {
    for (const double pause_s : {600.0, -600.0}) {
      CAPTURE(pause_s);
      auto times = rounded(200, 50);
      for (std::size_t i = 120; i < times.size(); ++i) times[i] += pause_s;
      for (std::size_t i = 160; i < times.size(); ++i) times[i] += 0.04;  // 2 frames are missing
      const auto records = records_at(times);
      const auto timing = timing_of(records, {times[120]});
      REQUIRE(timing);
      CHECK(timing->gaps == 1);
      CHECK(timing->missing_frames == 2);
      CHECK_FALSE(timing->backwards);
      CHECK((timing_of(records)->gaps == 2 || timing_of(records)->backwards));
    }
  }

  TEST_CASE("without stamps there is no timing") {
    CHECK(!timing_of(records_at(std::vector<double>(50, 0.0))));
    CHECK(!timing_of(records_at({0, 1})));
  }
}
