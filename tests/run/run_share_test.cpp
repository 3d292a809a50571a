#include "run/run_share.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace lull::run;

TEST_SUITE("run/run_share") {
  TEST_CASE("stages count by their cost, and the time left follows from the work done") {
    RunShare run({{"one", 1}, {"two", 3}});
    CHECK(run.share() == 0);
    CHECK_FALSE(run.left_s(5));
    run.advance("one", 5, 10);
    CHECK(run.share() == doctest::Approx(0.125));
    CHECK(*run.left_s(1) == doctest::Approx(7));
    run.advance("two", 0, 6);
    CHECK(run.share() == doctest::Approx(0.25));
    run.advance("two", 6, 6);
    CHECK(run.share() == doctest::Approx(1));
    CHECK(*run.left_s(9) == doctest::Approx(0));
  }

  TEST_CASE("a stage of several rounds goes on, and the share never falls") {
    RunShare run({{"rounds", 4, 4}, {"last", 4}});
    double before = 0;
    for (int round = 0; round < 5; ++round) {  // one more than expected
      for (int done = 0; done <= 3; ++done) {
        run.advance("rounds", done, 3);
        CHECK(run.share() >= before);
        before = run.share();
        if (round < 4) CHECK(run.share() == doctest::Approx((round + done / 3.0) / 8));
        CHECK_FALSE(run.counts_once());
      }
    }
    CHECK(run.share() == doctest::Approx(0.5));
    run.advance("last", 1, 2);
    CHECK(run.counts_once());
    CHECK(run.share() == doctest::Approx(0.75));
  }

  TEST_CASE("stages that do not come took no time; unknown ones and unknown totals add nothing") {
    RunShare run({{"skipped", 2}, {"one", 1}, {"two", 1}});
    run.advance("unheard of", 1, 2);
    CHECK(run.share() == 0);
    run.advance("one", 0, 0);
    CHECK(run.share() == doctest::Approx(0.5));
    run.advance("one", 70, 0);
    CHECK(run.share() == doctest::Approx(0.5));
    CHECK_FALSE(run.left_s(5));
    run.advance("two", 0, 2);
    CHECK(*run.left_s(10) == doctest::Approx(10));
  }

  TEST_CASE("a list that is gone through twice goes on too") {
    RunShare run({{"a", 1}, {"b", 1}, {"a", 1}, {"b", 1}});
    run.advance("a", 1, 1);
    run.advance("b", 1, 2);
    CHECK(run.share() == doctest::Approx(0.375));
    run.advance("a", 0, 1);
    CHECK(run.share() == doctest::Approx(0.5));
    run.advance("b", 2, 2);
    CHECK(run.share() == doctest::Approx(1));
  }
}
