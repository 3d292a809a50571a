#include "stack/illustration.h"

#include <doctest/doctest.h>

#include <cmath>

namespace {

using namespace lull;
using namespace lull::stack;

constexpr Size kSize{160, 96};

std::vector<float> weights(float value) {
  return std::vector<float>(align::ShiftField(kSize).local_x.size(), value);
}

Illustration illustrated(const std::vector<float>& each, Shift whole = {}) {
  Illustrator illustrator(kSize, each.size());
  for (std::size_t i = 0; i < each.size(); ++i) {
    illustrator.add(i, static_cast<FrameIndex>(i), align::ShiftField(kSize, whole),
                    weights(each[i]), kSize);
  }
  illustrator.mark();
  return illustrator.finish({0, 0, kSize.width_px, kSize.height_px}, each.size());
}

}  // namespace

TEST_SUITE("stack/illustration") {
  // Kish 1965, Survey Sampling: (sum w)^2 / sum w^2, from memory.
  TEST_CASE("equal weights count every frame, a large one drowns the others") {
    for (const float value : illustrated({2, 2, 2, 2, 2}).effective_frames.values)
      CHECK(std::abs(value - 5) < 1e-4F);
    for (const float value : illustrated({1, 3}).effective_frames.values)
      CHECK(std::abs(value - 1.6F) < 1e-4F);  // 16 / 10
    for (const float value : illustrated({1000, 1, 1, 1}).effective_frames.values)
      CHECK(value < 1.01F);
  }

  TEST_CASE("places that a frame does not show do not count") {
    const Illustration moved = illustrated({1, 1, 1}, {80, 0});
    const Grid& grid = moved.effective_frames;
    CHECK(grid.columns * grid.square_px >= kSize.width_px);
    for (int r = 0; r < grid.rows; ++r) {
      const float* row = grid.values.data() + static_cast<std::ptrdiff_t>(r) * grid.columns;
      CHECK(row[0] == doctest::Approx(3));
      CHECK(row[grid.columns - 1] == 0);
    }
  }

  TEST_CASE("only what was marked counts") {
    Illustrator illustrator(kSize, 4);
    const align::ShiftField field(kSize);
    for (std::size_t i = 0; i < 4; ++i) {
      illustrator.add(i, static_cast<FrameIndex>(10 - i), field, weights(1), kSize);
      if (i == 1) illustrator.mark();
    }
    const auto out = illustrator.finish({0, 0, kSize.width_px, kSize.height_px}, 2);
    for (const float value : out.effective_frames.values) CHECK(value == doctest::Approx(2));
    REQUIRE(out.displacements.size() == 2);
    CHECK(out.displacements[0].index == 9);  // in order of the capture, not of the rank
    CHECK(out.displacements[1].index == 10);
  }

  TEST_CASE("displacements are those of the field without the whole shift, inside of the crop") {
    Illustrator illustrator(kSize, 1);
    align::ShiftField field(kSize, {7, -3});
    for (int r = 0; r < field.rows(); ++r) {
      for (int c = 0; c < field.columns(); ++c) {
        const auto n = static_cast<std::size_t>(r * field.columns() + c);
        const double x = c * align::ShiftField::kNodePx + 0.5 * (align::ShiftField::kNodePx - 1);
        field.local_x[n] = static_cast<float>(0.01 * x);
        field.local_y[n] = 0.25F;
      }
    }
    illustrator.add(0, 0, field, weights(1), kSize);
    illustrator.mark();
    const Box crop{20, 10, 150, 90};
    const auto out = illustrator.finish(crop, 1);
    REQUIRE(out.displacements.size() == 1);
    for (std::size_t i = 0; i < out.places.size(); ++i) {
      const Shift place = out.places[i];
      CHECK(place.x_px >= 0);
      CHECK(place.x_px <= crop.width_px() - 1);
      CHECK(place.y_px <= crop.height_px() - 1);
      const Shift at = out.displacements[0].at[i];
      CHECK(std::abs(at.x_px - 0.01 * (place.x_px + crop.x0)) < 1e-3);
      CHECK(std::abs(at.y_px - 0.25) < 1e-6);
    }
  }

  TEST_CASE("a long capture is shown by few of its frames") {
    Illustrator illustrator(kSize, 1000);
    const align::ShiftField field(kSize);
    for (std::size_t i = 0; i < 1000; ++i)
      illustrator.add(i, static_cast<FrameIndex>(i), field, weights(1), kSize);
    illustrator.mark();
    const auto out = illustrator.finish({0, 0, kSize.width_px, kSize.height_px}, 1000);
    CHECK(out.displacements.size() <= 64);
    CHECK(out.displacements.size() >= 32);
    CHECK(out.effective_frames.values[0] == doctest::Approx(1000));
  }
}
