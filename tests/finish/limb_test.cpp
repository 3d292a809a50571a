#include "finish/limb.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "support/scene.h"

using namespace lull;

namespace {

// A disc darkened as the Sun is at 550 nm, I(mu) / I(1) = 1 - u2 - v2 + u2 mu + v2 mu^2 with
// u2 = 0.93, v2 = -0.23 (Allen's Astrophysical Quantities, solar limb darkening; from memory).
Plane sun(Size size, const Circle& circle, double level) {
  Plane plane(size);
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) {
      const double out = std::hypot(x - circle.x_px, y - circle.y_px) - circle.radius_px;
      const double r = std::min(1 + out / circle.radius_px, 1.0);
      const double mu = std::sqrt(1 - r * r);
      const double edge = std::clamp(0.5 - out / 2, 0.0, 1.0);  // two pixels wide
      plane.row(y)[x] = static_cast<float>(level * edge * (0.3 + 0.93 * mu - 0.23 * mu * mu));
    }
  }
  test::add_noise(plane.view(), 0.002, 3);
  return plane;
}

}  // namespace

TEST_SUITE("finish/limb") {
  TEST_CASE("whole discs and arcs whose centre lies outside are found") {
    for (const Circle& truth : {Circle{100.3, 90.8, 70}, Circle{-150.0, 300.0, 330}}) {
      const Plane picture = sun({220, 180}, truth, 0.7);
      const auto found = finish::find_limb(picture.view());
      REQUIRE(found);
      CHECK(std::abs(found->x_px - truth.x_px) < 0.02 * truth.radius_px);
      CHECK(std::abs(found->y_px - truth.y_px) < 0.02 * truth.radius_px);
      CHECK(std::abs(found->radius_px - truth.radius_px) < 0.02 * truth.radius_px);
    }
  }

  TEST_CASE("the disc becomes even, a spot on it keeps its contrast, no rim comes up") {
    const Circle truth{110, 95, 80};
    std::vector<Plane> picture;
    picture.push_back(sun({220, 190}, truth, 0.7));
    for (int y = 110; y < 122; ++y) {
      for (int x = 140; x < 152; ++x) picture[0].row(y)[x] *= 0.4F;
    }
    const auto limb = finish::find_limb(picture[0].view());
    REQUIRE(limb);
    finish::flatten_limb(picture, *limb);
    const auto at = [&](int x, int y) { return static_cast<double>(picture[0].row(y)[x]); };
    for (int y = 0; y < 190; ++y) {
      for (int x = 0; x < 220; ++x) {
        const double r = std::hypot(x - 110, y - 95) / 80;
        const bool spot = x >= 140 && x < 152 && y >= 110 && y < 122;
        if (r < 0.95) CHECK(std::abs(at(x, y) / (spot ? 0.4 : 1.0) - 0.7) < 0.05);
        CHECK(at(x, y) < 0.77);
      }
    }
  }

  TEST_CASE("surfaces, noise and ragged edges have no limb") {
    const Size size{160, 140};
    const Plane surface =
        test::Scene(size, 4, 2, 8).seen(size, [](int, int) { return Displacement{}; });
    CHECK_FALSE(finish::find_limb(surface.view()));
    Plane noise(size);
    test::add_noise(noise.view(), 0.1, 5);
    CHECK_FALSE(finish::find_limb(noise.view()));
    Plane ragged(size);
    for (int y = 0; y < 140; ++y) {
      for (int x = 0; x < 160; ++x)
        ragged.row(y)[x] = x > 60 + 15 * std::sin(y * 0.35) ? 0.6F : 0.0F;
    }
    CHECK_FALSE(finish::find_limb(ragged.view()));
  }
}
