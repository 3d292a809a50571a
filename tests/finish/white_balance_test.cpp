#include "finish/white_balance.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace lull;

namespace {

constexpr int kSide = 60;

// A disc before a sky of its own colour.
std::array<Plane, 3> disc(const std::array<float, 3>& colour, const std::array<float, 3>& sky) {
  std::array<Plane, 3> out = {Plane(kSide, kSide), Plane(kSide, kSide), Plane(kSide, kSide)};
  for (std::size_t c = 0; c < 3; ++c) {
    for (int y = 0; y < kSide; ++y) {
      for (int x = 0; x < kSide; ++x)
        out[c].row(y)[x] = sky[c] + (std::hypot(x - 30, y - 30) < 18 ? colour[c] : 0);
    }
  }
  return out;
}

std::array<PlaneView, 3> views(const std::array<Plane, 3>& planes) {
  return {planes[0].view(), planes[1].view(), planes[2].view()};
}

}  // namespace

TEST_SUITE("finish/white_balance") {
  TEST_CASE("the object becomes gray, whatever the sky: definition of the gray-world assumption") {
    const auto picture = disc({0.4F, 0.5F, 0.25F}, {0.02F, 0.06F, 0.04F});
    const auto factors = finish::gray_world(views(picture));
    CHECK(factors[0] == doctest::Approx(0.5 / 0.4));
    CHECK(factors[1] == 1);
    CHECK(factors[2] == doctest::Approx(0.5 / 0.25));
    std::vector<Plane> balanced;
    for (const Plane& plane : disc({0.4F, 0.5F, 0.25F}, {0, 0, 0}))
      balanced.push_back(Plane::copy_of(plane.view()));
    finish::balance(balanced, factors);
    CHECK(balanced[0].row(30)[30] == doctest::Approx(0.5));
    CHECK(balanced[2].row(30)[30] == doctest::Approx(0.5));
  }

  TEST_CASE("saturated pixels do not count; without light in a colour nothing is done") {
    auto picture = disc({0.4F, 0.5F, 0.25F}, {0, 0, 0});
    for (int x = 25; x < 35; ++x) {
      for (Plane& plane : picture) plane.row(28)[x] = 1;
    }
    CHECK(finish::gray_world(views(picture))[0] == doctest::Approx(0.5 / 0.4));
    CHECK(finish::gray_world(views(disc({0.4F, 0.5F, 0}, {0, 0, 0}))) ==
          finish::WhiteBalance{1, 1, 1});
  }

  TEST_CASE("a disc gets the colour that it has in sunlight, and its sky becomes gray") {
    // Mallama, Krobusek & Pavlov 2017 (colours of Jupiter from memory): B-V 0.87, V-R 0.50; of the
    // Sun 0.65 and 0.36. Ratios of bands by Pogson's scale: 10^(0.4 x 0.14) and 10^(-0.4 x 0.22).
    const finish::Light jupiter = finish::sunlit_colour(0.87, 0.50);
    CHECK(jupiter[0] == doctest::Approx(1.1376).epsilon(1e-4));
    CHECK(jupiter[1] == 1);
    CHECK(jupiter[2] == doctest::Approx(0.8166).epsilon(1e-4));
    CHECK(finish::sunlit_colour(0.65, 0.36) == finish::Light{1, 1, 1});  // the Sun itself
    const auto picture = disc({0.4F, 0.5F, 0.25F}, {0.02F, 0.06F, 0.04F});
    const auto factors = finish::balance_to(views(picture), jupiter);
    const finish::Light sky = finish::sky_of(views(picture));
    CHECK(sky[2] == doctest::Approx(0.04));
    std::vector<Plane> balanced;
    balanced.reserve(picture.size());
    for (const Plane& plane : picture) balanced.push_back(Plane::copy_of(plane.view()));
    finish::balance(balanced, factors, sky);
    for (std::size_t c = 0; c < 3; ++c) {
      CHECK(balanced[c].row(2)[2] == doctest::Approx(0.06));
      CHECK(static_cast<double>(balanced[c].row(30)[30]) - 0.06 ==
            doctest::Approx(0.5 * jupiter[c]).epsilon(1e-4));
    }
  }
}
