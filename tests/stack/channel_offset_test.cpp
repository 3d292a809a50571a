#include "stack/channel_offset.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "support/colour_scene.h"

using namespace lull;

TEST_SUITE("stack/channel_offset") {
  namespace {

  constexpr Size kSize = test::kColourScene;

  }  // namespace

  TEST_CASE("finds the displacement of a colour of another contrast to 0.03 px") {
    for (const Displacement offset :
         {Displacement{0.6, -1.7}, Displacement{-2.4, 1.1}, Displacement{0, 0}}) {
      const Plane green = test::colour_picture(1, 0, 0, 0.004, 1);
      const Plane other = test::colour_picture(2, offset.x_px, offset.y_px, 0.004, 2);
      const Displacement found = stack::channel_offset(green.view(), other.view());
      CHECK(std::abs(found.x_px - offset.x_px) < 0.03);
      CHECK(std::abs(found.y_px - offset.y_px) < 0.03);
    }
  }

  TEST_CASE("offsets that are nearly collinear are made so, others are left") {
    Displacement red{-0.44, -1.18};
    Displacement blue{0.83, 2.34};
    stack::make_collinear(red, blue);
    CHECK(red.x_px * blue.y_px - red.y_px * blue.x_px == doctest::Approx(0).epsilon(1e-9));
    CHECK(std::hypot(red.x_px + 0.44, red.y_px + 1.18) < 0.05);
    CHECK(std::hypot(blue.x_px - 0.83, blue.y_px - 2.34) < 0.03);
    Displacement across{0.5, 0};
    Displacement down{0, 0.7};
    stack::make_collinear(across, down);
    CHECK(across == Displacement{0.5, 0});
    CHECK(down == Displacement{0, 0.7});
  }

  TEST_CASE("claims nothing where there is nothing") {
    Plane empty(kSize);
    const Displacement found = stack::channel_offset(empty.view(), empty.view());
    CHECK(found == Displacement{});
  }
}
