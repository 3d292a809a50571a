#include "survey/orientation.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "support/scene.h"
#include "survey/tracker.h"

using namespace lull;
using survey::TurnTest;

TEST_SUITE("survey/orientation") {
  namespace {

  constexpr FrameIndex kEvery = 8;

  // Tests of frames turned as `turn_at` says, whose peaks are `clear` times the rms of the
  // correlation higher than those of the other turns.
  template <class TurnAt>
  std::vector<TurnTest> tests_of(int count, double clear, const TurnAt& turn_at) {
    std::mt19937 random(5);
    std::normal_distribution<double> noise(0, 1);
    std::vector<TurnTest> out;
    for (int i = 0; i < count; ++i) {
      TurnTest test{i * kEvery, {}};
      for (double& peak : test.peaks) peak = 6 + noise(random);
      test.peaks[static_cast<std::size_t>(turn_at(i))] += clear;
      out.push_back(test);
    }
    return out;
  }

  survey::Orientation found_in(const std::vector<TurnTest>& tests) {
    return survey::orientation_of(tests, tests.back().index + kEvery - 1);
  }

  }  // namespace

  TEST_CASE("a sudden turn is found to the frames between two tests, whichever it is") {
    for (const Turn turn : {Turn::half, Turn::left_right, Turn::up_down}) {
      const auto found =
          found_in(tests_of(40, 8, [turn](int i) { return i < 25 ? Turn::none : turn; }));
      REQUIRE(found.turned.size() == 1);
      CHECK(found.turned[0] == calibrate::TurnedFrames{{200, 319}, turn});
      CHECK(found.doubtful == calibrate::FrameRanges{{193, 199}});
    }
  }

  TEST_CASE("turns are relative to the first frames; a turn and back leaves the end as it is") {
    const auto found = found_in(
        tests_of(60, 8, [](int i) { return i < 20 || i >= 40 ? Turn::half : Turn::none; }));
    REQUIRE(found.turned.size() == 1);
    CHECK(found.turned[0] == calibrate::TurnedFrames{{160, 312}, Turn::half});
    CHECK(survey::text_of(found) ==
          "frames 160-312 are turned by 180 degrees relative to the first frames");
  }

  TEST_CASE("no change: nothing clear, too few frames, or an object that turns slowly") {
    CHECK_FALSE(found_in(tests_of(2500, 0, [](int) { return Turn::none; })).changes());
    CHECK_FALSE(found_in(tests_of(200, 12, [](int i) {
                  return i % 50 == 7 ? Turn::half : Turn::none;
                })).changes());
    auto slow = tests_of(200, 0, [](int) { return Turn::none; });
    for (std::size_t i = 0; i < slow.size(); ++i) {
      const double gone = static_cast<double>(i) / static_cast<double>(slow.size());
      slow[i].peaks[0] += 14 * (1 - gone);
      slow[i].peaks[1] += 14 * gone;
    }
    CHECK_FALSE(found_in(slow).changes());
    CHECK_FALSE(survey::orientation_of({}, 0).changes());
    CHECK(survey::text_of({}).empty());
  }

  // The planes are turned by hand; the tracker turns spectra.
  TEST_CASE("the tracker's peaks tell the four turns apart, wherever the object is") {
    constexpr Size kSize{150, 120};
    const test::Scene scene({200, 180}, 8);
    const auto seen = [&](Displacement shift, Turn turn, std::uint32_t seed) {
      const Plane plain = scene.seen(kSize, [&](int, int) { return shift; });
      Plane out(kSize);
      for (int y = 0; y < kSize.height_px; ++y) {
        for (int x = 0; x < kSize.width_px; ++x) {
          const int from_x = swaps_columns(turn) ? kSize.width_px - 1 - x : x;
          const int from_y = swaps_rows(turn) ? kSize.height_px - 1 - y : y;
          out.row(y)[x] = plain.row(from_y)[from_x];
        }
      }
      test::add_noise(out.view(), 0.02, seed);
      return out;
    };
    survey::Tracker tracker(kSize, {quality::TargetKind::field, 0, 0});
    survey::Tracker::Workspace work;
    tracker.set_reference(seen({}, Turn::none, 1).view(), {}, work);
    std::uint32_t seed = 2;
    for (const Turn turn : {Turn::none, Turn::left_right, Turn::up_down, Turn::half}) {
      for (const Displacement shift : {Displacement{}, Displacement{-7.3, 5.8}}) {
        const auto peaks = tracker.peaks(seen(shift, turn, ++seed).view(), work);
        CHECK(survey::best_turn(peaks) == turn);
        for (int other = 0; other < kTurns; ++other) {
          if (static_cast<Turn>(other) == turn) continue;
          CHECK(peaks[static_cast<std::size_t>(turn)] > peaks[static_cast<std::size_t>(other)] + 5);
        }
      }
    }
  }
}
