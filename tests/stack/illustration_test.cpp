#include "stack/illustration.h"

#include <doctest/doctest.h>

#include <cmath>

TEST_SUITE("stack/illustration") {
  namespace {

  using namespace lull;
  using namespace lull::stack;

  constexpr Size kSize{160, 96};

  }  // namespace

  TEST_CASE("only frames that were kept are shown") {
    Illustrator illustrator(4);
    const align::ShiftField field(kSize);
    for (std::size_t i = 0; i < 4; ++i) illustrator.add(i, static_cast<FrameIndex>(10 - i), field);
    const auto out = illustrator.finish({0, 0, kSize.width_px, kSize.height_px}, 2);
    REQUIRE(out.movements.size() == 2);
    CHECK(out.movements[0].index == 9);  // in order of the capture, not of the rank
    CHECK(out.movements[1].index == 10);
  }

  TEST_CASE("displacements are those of the field without the whole shift, inside of the crop") {
    Illustrator illustrator(1);
    align::ShiftField field(kSize, {7, -3});
    for (int r = 0; r < field.rows(); ++r) {
      for (int c = 0; c < field.columns(); ++c) {
        const auto n = static_cast<std::size_t>(std::ptrdiff_t{r} * field.columns() + c);
        const double x = c * align::ShiftField::kNodePx + 0.5 * (align::ShiftField::kNodePx - 1);
        field.local_x[n] = static_cast<float>(0.01 * x);
        field.local_y[n] = 0.25F;
      }
    }
    illustrator.add(0, 0, field);
    const Box crop{20, 10, 150, 90};
    const auto out = illustrator.finish(crop, 1);
    REQUIRE(out.movements.size() == 1);
    for (std::size_t i = 0; i < out.places.size(); ++i) {
      const Displacement place = out.places[i];
      CHECK(place.x_px >= 0);
      CHECK(place.x_px <= crop.width_px() - 1);
      CHECK(place.y_px <= crop.height_px() - 1);
      const FrameOffset at = out.movements[0].at[i];
      CHECK(std::abs(at.x_px - 0.01 * (place.x_px + crop.x0)) < 1e-3);
      CHECK(std::abs(at.y_px - 0.25) < 1e-6);
    }
  }

  TEST_CASE("a long capture is shown by few of its frames") {
    Illustrator illustrator(1000);
    const align::ShiftField field(kSize);
    for (std::size_t i = 0; i < 1000; ++i) illustrator.add(i, static_cast<FrameIndex>(i), field);
    const auto out = illustrator.finish({0, 0, kSize.width_px, kSize.height_px}, 1000);
    CHECK(out.movements.size() <= 64);
    CHECK(out.movements.size() >= 32);
  }
}
