#include "health/steadiness.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <random>

namespace {

using namespace lull;
using Level = std::function<double(double share)>;  // of the capture, 0 to 1

// Frames whose light and sharpness follow these levels; sharpness scatters by a fifth as in air.
std::vector<quality::FrameRecord> records(int count, const Level& light, const Level& sharpness) {
  std::mt19937_64 random(321);
  std::normal_distribution<double> normal;
  std::vector<quality::FrameRecord> out;
  for (int i = 0; i < count; ++i) {
    quality::FrameRecord record;
    record.index = i;
    const double share = static_cast<double>(i) / count;
    record.brightness = 0.4 * light(share) * (1 + 0.01 * normal(random));
    record.sharpness = sharpness(share) * std::exp(0.2 * normal(random));
    out.push_back(record);
  }
  return out;
}

double one(double) { return 1; }

Level step_of(double change) {
  return [change](double share) { return share < 0.5 ? 1.0 : 1 + change; };
}

}  // namespace

TEST_SUITE("health/steadiness") {
  // The truth is what the records were made of.
  TEST_CASE("a step half-way is found, with its size and its frame") {
    for (const double change : {-0.6, -0.2, 0.2, 2.0}) {
      CAPTURE(change);
      const auto found = health::steadiness_of(records(1000, step_of(change), one));
      REQUIRE(found);
      REQUIRE(found->light);
      // The median of 500 values with a scatter of 1%.
      CHECK(std::abs(found->light->change - change) < 0.005 * (1 + change));
      CHECK(std::abs(static_cast<double>(found->light->from) - 500) <= 1000 / 64.0);
      CHECK(!found->sharpness);
      CHECK(found->light_spread < 0.03);
    }
    const auto found = health::steadiness_of(records(1000, one, step_of(-0.5)));
    REQUIRE(found);
    CHECK(!found->light);
    REQUIRE(found->sharpness);
    CHECK(std::abs(found->sharpness->change + 0.5) < 0.03);
    CHECK(std::abs(static_cast<double>(found->sharpness->from) - 500) <= 1000 / 64.0);
  }

  TEST_CASE("what changes slowly, or comes back, is no step") {
    const Level ramp = [](double share) { return 1 - 0.5 * share; };
    const Level wave = [](double share) { return 1 + 0.3 * std::sin(7 * share); };
    const Level dip = [](double share) { return share > 0.4 && share < 0.6 ? 0.6 : 1.0; };
    // Two levels, and a fifth of the capture between them.
    const Level between = [](double share) {
      return 1 - 0.5 * std::clamp((share - 0.4) / 0.2, 0.0, 1.0);
    };
    for (const Level& level : {ramp, wave, dip, between}) {
      const auto light = health::steadiness_of(records(1000, level, one));
      REQUIRE(light);
      CHECK(!light->light);
      const auto sharpness = health::steadiness_of(records(1000, one, level));
      REQUIRE(sharpness);
      CHECK(!sharpness->sharpness);
    }
    // Small ones are not reported.
    CHECK(!health::steadiness_of(records(1000, step_of(0.07), one))->light);
    CHECK(!health::steadiness_of(records(1000, one, step_of(-0.15)))->sharpness);
  }

  // A sine of amplitude 0.2 is between its quantiles 0.05 and 0.95 in 90% of the time: those are
  // 0.2 sin(0.45 pi) = 0.1975 on either side.
  TEST_CASE("the spread of the light is that between its quantiles, a step taken off") {
    const Level wave = [](double share) {
      return 1 + 0.2 * std::sin(10 * std::numbers::pi * share);
    };
    const double expected = 1.1975 / 0.8025 - 1;
    CHECK(std::abs(health::steadiness_of(records(4000, wave, one))->light_spread - expected) <
          0.03);
  }

  TEST_CASE("few frames, or light that is lost, say nothing") {
    CHECK(!health::steadiness_of(records(47, step_of(1), one)));
    CHECK(!health::steadiness_of(records(
        100, [](double) { return 0.0; }, one)));
    auto some = records(100, step_of(1), one);
    for (std::size_t i = 0; i < some.size(); i += 2) some[i].reject = Reject::weak_peak;
    const auto found = health::steadiness_of(some);
    REQUIRE(found);
    REQUIRE(found->light);
    CHECK(std::abs(static_cast<double>(found->light->from) - 50) <= 8);
  }
}
