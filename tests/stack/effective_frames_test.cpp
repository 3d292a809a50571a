#include "stack/effective_frames.h"

#include <doctest/doctest.h>

#include <cmath>

TEST_SUITE("stack/effective_frames") {
  namespace {

  using namespace lull;
  using namespace lull::stack;

  constexpr Size kSize{160, 96};
  constexpr Box kWhole{0, 0, kSize.width_px, kSize.height_px};

  std::vector<float> weights(float value) {
    return std::vector<float>(align::ShiftField(kSize).local_x.size(), value);
  }

  NodeMap counted(const std::vector<float>& each, FrameOffset whole = {}) {
    EffectiveFrames frames(kSize);
    for (const float weight : each)
      frames.add(align::ShiftField(kSize, whole), weights(weight), kSize);
    return frames.map(kWhole);
  }

  }  // namespace

  // Kish 1965, Survey Sampling: (sum w)^2 / sum w^2, from memory.
  TEST_CASE("equal weights count every frame, a large one drowns the others") {
    const auto all_near = [](const NodeMap& map, float expected) {
      for (int y = 0; y < map.values.height(); ++y) {
        for (int x = 0; x < map.values.width(); ++x)
          CHECK(std::abs(map.values.row(y)[x] - expected) < 1e-4F * expected);
      }
    };
    all_near(counted({2, 2, 2, 2, 2}), 5);
    all_near(counted({1, 3}), 1.6F);  // 16 / 10
    all_near(counted({1000, 1, 1, 1}), 1003.0F * 1003.0F / 1000003.0F);
  }

  TEST_CASE("places that a frame does not show do not count") {
    const NodeMap moved = counted({1, 1, 1}, {80, 0});
    for (int y = 0; y < moved.values.height(); ++y) {
      CHECK(moved.values.row(y)[0] == doctest::Approx(3));
      CHECK(moved.values.row(y)[moved.values.width() - 1] == 0);
    }
  }

  TEST_CASE("the map gives the positions of its nodes in the picture") {
    EffectiveFrames frames(kSize);
    const align::ShiftField field(kSize);
    std::vector<float> ramp(field.local_x.size(), 1);
    for (int twice = 0; twice < 2; ++twice) {  // weights 1 and 1 + column: each node its own value
      for (std::size_t n = 0; n < ramp.size(); ++n)
        ramp[n] = twice == 0 ? 1.0F : 1.0F + static_cast<float>(n % 20);
      frames.add(field, ramp, kSize);
    }
    const auto expected = [](int column) {
      const double w = 1.0 + column;
      return (1 + w) * (1 + w) / (1 + w * w);
    };
    // Node c is at 8 c + 3.5 of the reference (align/shift_field.h); of a picture that begins at 10
    // the first is node 1, at 1.5, and the last before 133 is node 16.
    const NodeMap map = frames.map({10, 20, 133, 90});
    CHECK(map.step_px == 8);
    CHECK(map.x0_px == doctest::Approx(1.5));
    CHECK(map.y0_px == doctest::Approx(7.5));
    REQUIRE(map.values.width() == 16);
    CHECK(map.values.height() == 8);
    for (int c = 0; c < 16; ++c) {
      CHECK(map.values.row(3)[c] == doctest::Approx(expected(c + 1)));
      CHECK(map.nearest(1.5 + 8 * c + 3.9, 0) == map.values.row(0)[c]);
      CHECK(map.nearest(1.5 + 8 * c - 3.9, 0) == map.values.row(0)[c]);
    }
    CHECK(map.nearest(-50, 1000) == map.values.row(7)[0]);
  }

  TEST_CASE("a picture between two nodes takes the nearest") {
    EffectiveFrames frames(kSize);
    frames.add(align::ShiftField(kSize), weights(1), kSize);
    const NodeMap map = frames.map({12, 12, 14, 14});
    CHECK(map.values.width() == 1);
    CHECK(map.values.height() == 1);
    CHECK(map.values.row(0)[0] == doctest::Approx(1));
  }
}
