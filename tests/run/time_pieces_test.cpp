#include "run/time_pieces.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace lull;

TEST_SUITE("run/time_pieces") {
  TEST_CASE("pieces are the fewest that the motion does not cross, and hold every frame once") {
    survey::Survey survey;
    for (int i = 0; i < 100; ++i)
      survey.records.push_back({.index = i, .time_s = 0.5 * i, .offset = {}, .reject = {}});
    survey.records[99].reject = Reject::black;  // the last usable frame is at 49 s
    const auto pieces = run::cut_in_time(survey, 0.02, 0.3);
    REQUIRE(pieces.records.size() == 4);  // 49 s x 0.02 px / s = 0.98 px
    CHECK(pieces.length_s == doctest::Approx(49.0 / 4));
    CHECK(pieces.span_s() == doctest::Approx(49));
    std::size_t next = 0;
    for (const auto& records : pieces.records) {
      CHECK(records.size() >= 24);
      for (const std::size_t record : records) CHECK(record == next++);
    }
    CHECK(next == 100);
    CHECK(run::cut_in_time(survey, -0.02, 0.3).records.size() == 4);
  }

  TEST_CASE("a still globe, or frames of one moment, are one piece") {
    survey::Survey survey;
    for (int i = 0; i < 5; ++i)
      survey.records.push_back({.index = i, .time_s = 7, .offset = {}, .reject = {}});
    CHECK(run::cut_in_time(survey, 1, 0.3).records.size() == 1);
    survey.records[4].time_s = 9;
    CHECK(run::cut_in_time(survey, 0, 0.3).records.size() == 1);
    // Frames far apart leave pieces without any.
    const auto apart = run::cut_in_time(survey, 3, 0.3);
    REQUIRE(apart.records.size() == 20);
    CHECK(apart.records.front().size() == 4);
    CHECK(apart.records.back().size() == 1);
  }
}
