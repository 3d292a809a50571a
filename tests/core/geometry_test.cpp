#include "core/geometry.h"

#include <doctest/doctest.h>

#include <cmath>
#include <type_traits>

using namespace lull;

TEST_SUITE("core/geometry") {
  TEST_CASE("a frame offset and a shift are opposite directions, and no direct way joins them") {
    const FrameOffset offset{2.5, -1.25};
    CHECK(offset.shift() == Shift{-2.5, 1.25});
    CHECK(offset.displacement() == Displacement{2.5, -1.25});
    static_assert(!std::is_convertible_v<FrameOffset, Shift>);
    static_assert(!std::is_convertible_v<Shift, FrameOffset>);
    static_assert(!std::is_convertible_v<FrameOffset, Displacement>);
  }

  TEST_CASE("the shift of a frame that did not move is printed without a minus") {
    CHECK_FALSE(std::signbit(FrameOffset{}.shift().x_px));
  }

  TEST_CASE("boxes are half-open: neighbours share no pixel") {
    const Box left{0, 0, 4, 4};
    const Box right{4, 0, 8, 4};
    CHECK(left.intersection(right).empty());
    CHECK(left.intersection({2, 1, 9, 9}) == Box{2, 1, 4, 4});
    CHECK(left.width_px() == 4);
  }
}
