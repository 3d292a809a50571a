#include "health/exposure.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "support/frames.h"
#include "support/memory_capture.h"

namespace {

using namespace lull;
using health::exposure_of;
using health::LevelCounts;
using test::frame_of;
using test::mono_info;

}  // namespace

TEST_SUITE("health/exposure") {
  TEST_CASE("shares of the levels are those of the samples, by construction") {
    // 64 x 64: 41 samples at full scale (1%), 410 at zero (10%), the rest at 1000 of 4095.
    const auto info = mono_info({64, 64}, 12);
    const std::vector<capture::Frame> frames = {frame_of({64, 64}, [](int x, int y) {
      const int i = 64 * y + x;
      return i < 41 ? 4095 : i < 451 ? 0 : 1000;
    })};
    LevelCounts counts(info);
    const auto saturated = counts.add(test::pointers_to(frames));
    CHECK(saturated == std::vector<std::int64_t>{41});
    const auto exposure = exposure_of(counts, 1);
    REQUIRE(exposure.channels.size() == 1);
    const auto& channel = exposure.channels[0];
    CHECK(channel.saturated == doctest::Approx(41.0 / 4096));
    CHECK(channel.at_zero == doctest::Approx(410.0 / 4096));
    CHECK(channel.piled_at_zero);
    CHECK(channel.median == doctest::Approx(1000.0 / 4095));
    CHECK(exposure.brightest() == doctest::Approx(1));
  }

  TEST_CASE("the brightest level is that of the object, however small it is") {
    const auto info = mono_info({200, 200}, 12);
    const std::vector<capture::Frame> frames = {
        frame_of({200, 200}, [](int x, int y) { return x < 5 && y < 4 ? 3000 : 200; })};
    LevelCounts counts(info);
    static_cast<void>(counts.add(test::pointers_to(frames)));
    // 20 of 40,000 samples.
    CHECK(exposure_of(counts, 20.0 / 40000).brightest() == doctest::Approx(3000.0 / 4095));
    CHECK(exposure_of(counts, 1).brightest() == doctest::Approx(200.0 / 4095));
  }

  TEST_CASE("levels of words used at their high end are those of the sensor") {
    auto info = mono_info({32, 32}, 12);
    info.bits.high_aligned = true;
    info.full_scale = 65520;
    info.scale = {0, 1.0 / 65520};
    LevelCounts counts(info);
    const std::vector<capture::Frame> frames = {
        frame_of({32, 32}, [](int x, int y) { return 16 * (100 + 32 * y + x); })};
    (void)counts.add(test::pointers_to(frames));
    const auto levels = counts.channel(0);
    REQUIRE(levels.size() == 4096);
    for (std::size_t level = 0; level < 4096; ++level)
      REQUIRE(levels[level] == (level >= 100 && level < 1124 ? 1 : 0));
  }

  TEST_CASE("each colour of a mosaic is counted by itself") {
    auto info = mono_info({32, 32}, 12);
    info.colour = capture::Colour::cfa;
    info.cfa = capture::Cfa::gbrg;
    LevelCounts counts(info);
    const std::vector<capture::Frame> frames = {frame_of({32, 32}, [&info](int x, int y) {
      return 100 * (1 + capture::cfa_colour_at(info.cfa, x, y));
    })};
    (void)counts.add(test::pointers_to(frames));
    CHECK(counts.channel(0)[100] == 256);  // red
    CHECK(counts.channel(1)[200] == 512);  // green
    CHECK(counts.channel(2)[300] == 256);  // blue
  }

  TEST_CASE("a stretch leaves a comb, and noise or a lone bright patch does not") {
    const auto skipped = [](const auto& value) {
      LevelCounts counts(mono_info({128, 128}, 12));
      std::vector<capture::Frame> frames;
      frames.reserve(16);
      for (int i = 0; i < 16; ++i) frames.push_back(frame_of({128, 128}, value, i));
      (void)counts.add(test::pointers_to(frames));
      return exposure_of(counts, 1).skipped();
    };
    std::mt19937 random(5);
    std::normal_distribution<double> normal(0, 12);
    const auto plain = [&](int x, int) { return std::round(500 + x + normal(random)); };
    CHECK(skipped(plain) < 0.01);
    CHECK(skipped([&](int x, int y) { return y < 64 ? 3000 : plain(x, y); }) < 0.05);
    // Of every 1.5 levels one third is left out; 8 bits in 12 leave 15 of 16.
    CHECK(std::abs(skipped([&](int x, int y) { return std::floor(1.5 * plain(x, y)); }) - 1.0 / 3) <
          0.05);
    CHECK(std::abs(skipped([&](int x, int y) { return 16 * std::floor(plain(4 * x, y) / 16); }) -
                   15.0 / 16) < 0.03);
  }
}
