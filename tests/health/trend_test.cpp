#include "health/trend.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "health/motion.h"

namespace {

using lull::health::DriftUnit;
using lull::health::motion_of;
using lull::health::trend_of;
using lull::quality::FrameRecord;

// Sharpness that falls exponentially by `fall` over the capture, with seeing that lasts 8 frames.
std::vector<FrameRecord> falling(double fall, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal(0, 0.3);
  std::vector<FrameRecord> records;
  double seeing = normal(random);
  for (int i = 0; i < 1000; ++i) {
    seeing = 0.88 * seeing + std::sqrt(1 - 0.88 * 0.88) * normal(random);
    FrameRecord record;
    record.index = i;
    record.time_s = 0.02 * i;
    record.sharpness = std::exp(seeing + std::log1p(-fall) * i / 1000);
    records.push_back(record);
  }
  return records;
}

}  // namespace

TEST_SUITE("health/trend") {
  TEST_CASE("a fall of focus is found within its bounds, and none where there is none") {
    // By construction; 95% bounds over 60 captures: at least 52 is 3 standard deviations below 57.
    for (const double fall : {0.0, 0.4}) {
      CAPTURE(fall);
      int covered = 0;
      int proven = 0;
      for (unsigned seed = 0; seed < 60; ++seed) {
        const auto trend = trend_of(falling(fall, seed));
        REQUIRE(trend);
        covered += trend->change_low <= -fall && -fall <= trend->change_high ? 1 : 0;
        proven += trend->significant ? 1 : 0;
      }
      CHECK(covered >= 52);
      CHECK((fall > 0 ? proven >= 55 : proven <= 8));
    }
  }

  TEST_CASE("the change is relative: a fall to 0.6 is -0.4, not its logarithm") {
    for (const double fall : {0.4, -0.5}) {
      auto records = falling(fall, 1);
      for (FrameRecord& record : records)
        record.sharpness = std::exp(std::log1p(-fall) * static_cast<double>(record.index) / 1000);
      const auto trend = trend_of(records);
      REQUIRE(trend);
      CHECK(trend->change == doctest::Approx(-fall).epsilon(0.002));
      // Powers: quantile 0.5 of 1 to 1 - fall, and its end.
      CHECK(trend->best_over_median ==
            doctest::Approx(std::pow(std::min(1 - fall, 1 / (1 - fall)), -0.5)).epsilon(0.002));
    }
  }

  TEST_CASE("short captures, and sharpness lost in noise, have no trend") {
    auto records = falling(0.2, 1);
    for (std::size_t i = 0; i < records.size(); i += 5) records[i].sharpness = -0.01;
    CHECK(!trend_of(records));
    records = falling(0.2, 1);
    records.resize(40);
    CHECK(!trend_of(records));
  }
}

TEST_SUITE("health/motion") {
  TEST_CASE("the drift is that of both axes: 3 and 4 make 5") {
    lull::health::Motion motion;
    motion.x.slope = 3;
    motion.y.slope = -4;
    CHECK(motion.drift() == doctest::Approx(5));
  }

  TEST_CASE("drift, jitter and range are those that were put in") {
    // Jitter of independent positions of sigma s on each axis: a step has sqrt(2) s an axis, so an
    // rms of 2 s over both (sum of variances).
    std::mt19937 random(4);
    std::normal_distribution<double> normal(0, 0.5);
    std::vector<FrameRecord> records;
    for (int i = 0; i < 1500; ++i) {
      FrameRecord record;
      record.index = i;
      record.time_s = 0.01 * i;
      record.offset = {1.5 * record.time_s + normal(random),
                       -0.25 * record.time_s + normal(random)};
      if (i > 700) record.offset.x_px += i % 500 == 0 ? 80 : 0;  // two wild ones
      records.push_back(record);
    }
    std::vector<double> steps;
    for (std::size_t i = 1; i < records.size(); ++i) {
      const auto step = records[i].offset - records[i - 1].offset;
      steps.push_back(std::hypot(step.x_px, step.y_px));
    }
    const auto motion = motion_of(records, steps, DriftUnit::px_per_s);
    REQUIRE(motion);
    CHECK(std::abs(motion->x.slope - 1.5) < 0.03);
    CHECK(std::abs(motion->y.slope + 0.25) < 0.03);
    CHECK(motion->x.slope_low < 1.5);
    CHECK(motion->x.slope_high > 1.5);
    CHECK(std::abs(*motion->jitter_px - 1.0) < 0.05);
    CHECK(motion->range.x_px > 80);
    CHECK(std::abs(motion_of(records, steps, DriftUnit::px_per_frame)->x.slope - 0.015) < 0.0003);
  }

  TEST_CASE("a part of a capture has the trend of its frames, wherever it begins") {
    auto records = falling(0.4, 7);
    const auto expected = trend_of(records);
    for (FrameRecord& record : records) record.index += 90000;
    const auto later = trend_of(records);
    REQUIRE(expected);
    REQUIRE(later);
    CHECK(later->change == doctest::Approx(expected->change));
    CHECK(later->change_low == doctest::Approx(expected->change_low));
  }
}
