#include "stack/surroundings.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace lull;

namespace {

constexpr Size kSize{100, 80};

// Sums of frames that are moved by these offsets in x, `apart` px less in the second half.
stack::Accumulator sums_of(const std::vector<double>& offsets) {
  stack::Accumulator sums(stack::warp_sampler(kSize), 1);
  Plane light(kSize);
  light.fill(0.5F);
  align::PaddedFrame frame;
  frame.assign(light.view());
  for (std::size_t i = 0; i < offsets.size(); ++i) {
    const align::ShiftField field(kSize, {offsets[i], 0});
    const std::vector<float> weights(field.local_x.size(), 1.0F);
    const auto half = i % 2 == 0 ? stack::Half::first : stack::Half::second;
    std::vector<stack::Contribution> one(1);
    one[0].field = &field;
    one[0].weights = &weights;
    one[0].half = half;
    one[0].channels[0].plane = &frame;
    sums.add(one);
  }
  return sums;
}

}  // namespace

TEST_SUITE("stack/surroundings") {
  TEST_CASE("the area grows as far as both halves have light") {
    // Reference column x is seen at x + offset: half of the frames end at column 89 on the right,
    // the others at 93.
    const auto sums = sums_of({10, 10, 6, 6});
    const Box crop{20, 20, 80, 60};
    const Box area = stack::surroundings(sums, crop);
    // Frames fade over their last pixel.
    CHECK(area.x0 == 0);
    CHECK(area.y0 <= 2);
    CHECK(area.y1 >= 78);
    CHECK(area.x1 >= 90);
    CHECK(area.x1 <= 94);
    // Now the second half ends at 89.
    const Box less = stack::surroundings(sums_of({6, 10, 6, 10}), crop);
    CHECK(less.x1 >= 88);
    CHECK(less.x1 <= 90);
  }

  TEST_CASE("it ends 32 px beyond the crop, and no crop gets smaller") {
    const auto sums = sums_of({0, 0});
    CHECK(stack::surroundings(sums, {40, 40, 60, 45}) == Box{8, 8, 92, 77});
    const auto moved = sums_of({10, 10});
    const Box whole{0, 0, kSize.width_px, kSize.height_px};
    CHECK(stack::surroundings(moved, whole) == whole);
  }
}
