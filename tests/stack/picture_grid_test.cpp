#include "stack/picture_grid.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

using namespace lull;

TEST_SUITE("stack/picture_grid") {
  namespace {

  constexpr Size kSize{64, 56};

  }  // namespace

  TEST_CASE("looks where the shift field does") {
    align::ShiftField field(kSize, {1.5, -2});
    for (std::size_t n = 0; n < field.local_x.size(); ++n) {
      field.local_x[n] = static_cast<float>(std::sin(0.7 * static_cast<double>(n)));
      field.local_y[n] = static_cast<float>(std::cos(1.1 * static_cast<double>(n)));
    }
    for (const double scale : {1.0, 1.5, 2.0, 3.0}) {
      const stack::PictureGrid grid(kSize, scale);
      CHECK(grid.size() == Size{static_cast<int>(64 * scale), static_cast<int>(56 * scale)});
      std::vector<float> x;
      std::vector<float> y;
      for (int row = 0; row < grid.size().height_px; row += 5) {
        grid.coordinates(field, row, x, y);
        for (int column = 0; column < grid.size().width_px; ++column) {
          const double px = (column + 0.5) / scale - 0.5;
          const double py = (row + 0.5) / scale - 0.5;
          const FrameOffset shift = field.at(px, py);
          const auto i = static_cast<std::size_t>(column);
          REQUIRE(std::abs(static_cast<double>(x[i]) - px - shift.x_px) < 1e-4);
          REQUIRE(std::abs(static_cast<double>(y[i]) - py - shift.y_px) < 1e-4);
        }
      }
    }
  }

  TEST_CASE("an area of odd pixels at scale 1.5 loses what it covers only in part") {
    const stack::PictureGrid grid({65, 57}, 1.5);
    CHECK(grid.size() == Size{97, 85});
    const Box box = grid.inside({3, 2, 62, 55});
    CHECK((box.x0 == 5 && box.y0 == 3 && box.x1 == 93 && box.y1 == 82));
  }

  TEST_CASE("at scale 1 it is the reference's own grid") {
    const stack::PictureGrid grid(kSize, 1);
    CHECK(grid.size() == kSize);
    const Box box = grid.inside({3, 2, 62, 55});
    CHECK((box.x0 == 3 && box.y0 == 2 && box.x1 == 62 && box.y1 == 55));
    Plane plane(kSize);
    plane.row(20)[30] = 0.7F;
    CHECK(grid.enlarged(plane.view()).row(20)[30] == 0.7F);
    CHECK(grid.enlarged(plane.view()).row(20)[31] == 0);
  }
}
