#include "core/disc_edge.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

using namespace lull;

TEST_SUITE("core/disc_edge") {
  TEST_CASE("a circle through part of a limb, whatever else crosses the level") {
    const Circle truth{-40.25, 210.5, 180};
    std::vector<Displacement> places;
    std::mt19937 random(3);
    std::normal_distribution<double> error(0, 0.2);
    for (int i = 0; i < 300; ++i) {
      const double angle = -0.8 + 1.4 * i / 300;
      const double radius = truth.radius_px + error(random);
      places.push_back(
          {truth.x_px + radius * std::cos(angle), truth.y_px + radius * std::sin(angle)});
    }
    for (int i = 0; i < 60; ++i) places.push_back({20.0 + 0.3 * i, 180 + 8 * std::sin(0.4 * i)});
    const auto fit = fit_circle(places);
    REQUIRE(fit);
    CHECK(std::abs(fit->circle.x_px - truth.x_px) < 0.3);
    CHECK(std::abs(fit->circle.y_px - truth.y_px) < 0.3);
    CHECK(std::abs(fit->circle.radius_px - truth.radius_px) < 0.3);
    CHECK(fit->kept > 0.75);
    CHECK(fit->kept < 0.85);
    CHECK(fit->worst_px < 1);
  }

  TEST_CASE("places on a line, or too few, are no circle") {
    std::vector<Displacement> places;
    for (int i = 0; i < 100; ++i) places.push_back({1.0 * i, 2.0 * i});
    CHECK_FALSE(fit_circle(places));
    CHECK_FALSE(fit_circle({{0, 1}, {1, 0}, {0, -1}}));
    CHECK_FALSE(fit_circle({}));
  }

  TEST_CASE("crossings lie between the samples on either side of the level") {
    Plane picture(Size{3, 2});
    picture.row(0)[2] = 4;
    picture.row(1)[2] = 2;
    const auto found = level_crossings(picture.view(), 1);
    REQUIRE(found.size() == 2);
    CHECK(found[0] == Displacement{1.25, 0});
    CHECK(found[1] == Displacement{1.5, 1});
  }
}
