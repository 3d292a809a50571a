#include "run/time_pieces.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace lull;

TEST_SUITE("run/time_pieces") {
  namespace {

  constexpr run::PieceBounds kFew{.least_px = 0.3, .most_px = 2.5, .frames = 24};

  survey::Survey frames_at_half_seconds(int count) {
    survey::Survey survey;
    for (int i = 0; i < count; ++i)
      survey.records.push_back({.index = i, .time_s = 0.5 * i, .offset = {}, .reject = {}});
    return survey;
  }

  }  // namespace

  TEST_CASE("pieces of the least motion are equal, and hold every frame once") {
    survey::Survey survey = frames_at_half_seconds(100);
    survey.records[99].reject = Reject::black;  // the last usable frame is at 49 s
    const auto pieces = run::cut_in_time(survey, 0.02, kFew);
    REQUIRE(pieces.records.size() == 4);  // 49 s x 0.02 px / s = 0.98 px
    CHECK(pieces.length_s == doctest::Approx(49.0 / 4));
    CHECK(pieces.span_s() == doctest::Approx(49));
    std::size_t next = 0;
    for (const auto& records : pieces.records) {
      CHECK(records.size() >= 24);
      for (const std::size_t record : records) CHECK(record == next++);
    }
    CHECK(next == 100);
    CHECK(run::cut_in_time(survey, -0.02, kFew).records.size() == 4);
  }

  TEST_CASE("pieces grow until they hold enough usable frames, as far as registration follows") {
    survey::Survey survey = frames_at_half_seconds(1200);
    const double px_per_s = 10 / survey.records.back().time_s;
    CHECK(run::cut_in_time(survey, px_per_s).records.size() == 7);  // 1200 / 160
    for (std::size_t i = 0; i < 1200; i += 2) survey.records[i + 1].reject = Reject::black;
    survey.records.back().reject.reset();
    CHECK(run::cut_in_time(survey, px_per_s).records.size() == 4);         // 10 px / 2.5 px
    CHECK(run::cut_in_time(survey, 0.1 * px_per_s).records.size() == 3);   // 601 / 160
    CHECK(run::cut_in_time(survey, 0.05 * px_per_s).records.size() == 2);  // 0.5 px / 0.3 px
    CHECK(run::cut_in_time(frames_at_half_seconds(12'000), px_per_s / 10).records.size() == 34);
  }

  TEST_CASE("a still globe, or frames of one moment, are one piece") {
    survey::Survey survey;
    for (int i = 0; i < 5; ++i)
      survey.records.push_back({.index = i, .time_s = 7, .offset = {}, .reject = {}});
    CHECK(run::cut_in_time(survey, 1).records.size() == 1);
    survey.records[4].time_s = 9;
    CHECK(run::cut_in_time(survey, 0).records.size() == 1);
    // Frames far apart leave pieces without any.
    const auto apart = run::cut_in_time(survey, 3);
    REQUIRE(apart.records.size() == 3);  // 6 px / 2.5 px
    CHECK(apart.records.front().size() == 4);
    CHECK(apart.records.back().size() == 1);
  }
}
