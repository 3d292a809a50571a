#include "core/normal_equations.h"

#include <doctest/doctest.h>

using lull::NormalEquations;

TEST_SUITE("core/normal_equations") {
  // The four observations (1, 6), (2, 5), (3, 7), (4, 10) of the line b0 + b1 x: worked example of
  // linear least squares in textbooks; b0 = 3.5, b1 = 1.4 (from memory; 4 x 3.5 + 10 x 1.4 = 28 and
  // 10 x 3.5 + 30 x 1.4 = 77 hold).
  TEST_CASE("a line through four points, in one sum or in two") {
    const std::array<std::array<double, 2>, 4> points = {{{1, 6}, {2, 5}, {3, 7}, {4, 10}}};
    NormalEquations<2> all;
    std::array<NormalEquations<2>, 2> parts;
    for (std::size_t i = 0; i < points.size(); ++i) {
      all.add({1, points[i][0]}, points[i][1]);
      parts[i % 2].add({1, points[i][0]}, points[i][1]);
    }
    parts[0].add(parts[1]);
    for (const NormalEquations<2>& sums : {all, parts[0]}) {
      const auto x = sums.solution();
      REQUIRE(x);
      CHECK((*x)[0] == doctest::Approx(3.5));
      CHECK((*x)[1] == doctest::Approx(1.4));
    }
  }

  TEST_CASE("weights repeat an observation, and an unknown that is fixed stays 0") {
    NormalEquations<2> weighted;
    NormalEquations<2> twice;
    const auto add = [](NormalEquations<2>& sums, double x, double y, int times, double weight) {
      for (int i = 0; i < times; ++i) sums.add({1, x}, y, weight);
    };
    for (const auto& [x, y] : {std::pair{1.0, 2.0}, {2.0, 5.0}, {4.0, 4.0}}) {
      add(weighted, x, y, 1, x == 2 ? 2 : 1);
      add(twice, x, y, x == 2 ? 2 : 1, 1);
    }
    CHECK((*weighted.solution())[1] == doctest::Approx((*twice.solution())[1]));
    weighted.fix(1);
    CHECK((*weighted.solution())[1] == 0);
    CHECK((*weighted.solution())[0] == doctest::Approx((2 + 2 * 5 + 4) / 4.0));
  }

  TEST_CASE("damping shortens the step, and what does not follow has no solution") {
    NormalEquations<1> one;
    one.add({2}, 6);
    CHECK((*one.solution())[0] == doctest::Approx(3));
    one.damp(0.5);
    CHECK((*one.solution())[0] == doctest::Approx(2));
    NormalEquations<2> alike;
    alike.add({1, 2}, 3);
    alike.add({2, 4}, 6);
    CHECK_FALSE(alike.solution());
    CHECK_FALSE(NormalEquations<3>{}.solution());
  }
}
