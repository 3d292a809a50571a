#include "spectrum/patch_grid.h"

#include <doctest/doctest.h>

TEST_SUITE("spectrum/patch_grid") {
  using lull::spectrum::patch_starts;
  using Starts = std::vector<int>;

  TEST_CASE("patches of 40 on 100 pixels: worked by hand") {
    CHECK(patch_starts(0, 100, 40) == Starts{0, 20, 40, 60});
    CHECK(patch_starts(7, 107, 40) == Starts{7, 27, 47, 67});
    CHECK(patch_starts(0, 101, 40) == Starts{0, 15, 30, 45, 61});
    CHECK(patch_starts(0, 41, 40) == Starts{0, 1});
    CHECK(patch_starts(0, 40, 40) == Starts{0});
    CHECK(patch_starts(10, 20, 40) == Starts{10});
  }

  TEST_CASE("they begin at the start, end at the end, and are half a side apart at most") {
    for (int side = 2; side <= 40; ++side) {
      for (int length = side; length <= 200; ++length) {
        CAPTURE(side);
        CAPTURE(length);
        const Starts starts = patch_starts(-5, length - 5, side);
        REQUIRE(!starts.empty());
        CHECK(starts.front() == -5);
        CHECK(starts.back() == length - 5 - side);
        bool close = true;
        for (std::size_t i = 1; i < starts.size(); ++i) {
          // Whole pixels: a step may be rounded up from half a side.
          close = close && starts[i] > starts[i - 1] && 2 * (starts[i] - starts[i - 1]) <= side + 1;
        }
        CHECK(close);
      }
    }
  }
}
