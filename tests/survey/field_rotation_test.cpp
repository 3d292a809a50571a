#include "survey/field_rotation.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <numeric>
#include <random>
#include <vector>

#include "support/text.h"

using namespace lull;
using lull::test::contains;

TEST_SUITE("survey/field_rotation") {
  namespace {

  constexpr int kWidth = 160;
  constexpr int kHeight = 120;
  constexpr int kFrames = 4;

  double scene(double x, double y) {
    return 0.5 + 0.1 * std::sin(x / 6) * std::cos(y / 9) + 0.1 * std::sin((x + 2 * y) / 17) +
           0.05 * std::cos((3 * x - y) / 11);
  }

  double smooth_disc(double x, double y) {
    return 0.8 / (1 + std::exp((std::hypot(x, y) - 40) / 2));
  }

  // A frame whose field is turned by `angle` around its middle, and moved.
  template <class Scene>
  Plane turned_frame(const Scene& light, double angle, FrameOffset moved, std::mt19937& random) {
    std::normal_distribution<double> noise(0, 0.02);
    Plane plane(kWidth, kHeight);
    for (int y = 0; y < kHeight; ++y) {
      for (int x = 0; x < kWidth; ++x) {
        const double dx = x - moved.x_px - kWidth / 2.0;
        const double dy = y - moved.y_px - kHeight / 2.0;
        const double u = std::cos(angle) * dx + std::sin(angle) * dy;
        const double v = -std::sin(angle) * dx + std::cos(angle) * dy;
        plane.row(y)[x] = static_cast<float>(light(u, v) + noise(random));
      }
    }
    return plane;
  }

  // Blocks whose angle in degrees `angle_of` gives; frames drift meanwhile.
  template <class Scene, class AngleOf>
  survey::FieldTurn found(const Scene& light, int blocks, const AngleOf& angle_of) {
    std::mt19937 random(20240817);
    survey::FieldRotation rotation;
    for (int block = 0; block < blocks; ++block) {
      std::vector<Plane> planes;
      std::vector<PlaneView> views;
      std::vector<FrameOffset> at;
      for (int i = 0; i < kFrames; ++i) {
        at.push_back({0.3 * block + i % 2, 0.2 * block - i % 3});
        const double angle = angle_of(block) * std::numbers::pi / 180;
        planes.push_back(turned_frame(light, angle, at.back(), random));
      }
      views.reserve(planes.size());
      for (const Plane& plane : planes) views.push_back(plane.view());
      std::vector<FrameIndex> indices(views.size());
      std::iota(indices.begin(), indices.end(), FrameIndex{kFrames} * block);
      const auto seen = rotation.see(views, at, indices);
      if (seen && angle_of(block) != 0)
        CHECK(std::abs(seen->angle * 180 / std::numbers::pi - angle_of(block)) < 0.3);
    }
    return rotation.result(2, 0, kFrames * blocks - 1);
  }

  }  // namespace

  TEST_CASE("the angle of a field that turns is measured to 0.2 degrees, either way") {
    for (const double degrees : {5.0, -3.0, 12.0}) {
      CAPTURE(degrees);
      // From the middle of the first frames to that of the last; the curve goes to their ends.
      const auto turn = found(scene, 12, [&](int block) { return degrees * block / 11; });
      CHECK(std::abs(turn.degrees - std::abs(degrees) * 11.75 / 11) < 0.2);
      // Radius of a surface: rms distance from the middle of a rectangle, sqrt((w^2 + h^2) / 12).
      const double radius = 2 * std::hypot(kWidth, kHeight) / std::sqrt(12.0);
      const double moved = std::abs(degrees) * std::numbers::pi / 180 * radius;
      CHECK(std::abs(turn.moved_px / moved - 1) < 0.15);
      CHECK(contains(survey::field_turn_text(turn), "the field turns by"));
    }
  }

  TEST_CASE("each frame's angle against the middle of the capture, also where the speed changes") {
    for (const double bend : {0.0, 0.03}) {
      CAPTURE(bend);
      const auto degrees = [&](double block) { return 0.9 * block + bend * block * block; };
      const auto turn = found(scene, 12, degrees);
      REQUIRE(turn.curve);
      const double middle = degrees(5.5);
      for (int block = 0; block < 12; ++block) {
        const double angle = (turn.at(kFrames * block + 1) + turn.at(kFrames * block + 2)) / 2;
        CHECK(std::abs(angle * 180 / std::numbers::pi - (degrees(block) - middle)) < 0.2);
      }
      CHECK(std::abs(turn.degrees - (degrees(11.375) - degrees(-0.375))) < 0.3);
      CHECK(contains(survey::advice_on(turn, 300), "stack turns the frames back"));
      CHECK(!contains(survey::field_turn_text(turn), "smeared"));
    }
  }

  TEST_CASE("a turn back counts from its farthest point") {
    // 4 u - 3 u^2: most at u = 2/3, least at -1. By hand: 4/3 + 7.
    const survey::TurnCurve curve{10, 5, {4, -3}};
    CHECK(curve.range() == doctest::Approx(4.0 / 3 + 7));
    CHECK(curve.at(10) == 0);
    CHECK(curve.at(15) == doctest::Approx(1));
  }

  TEST_CASE("a camera turned once by 8 degrees is found") {
    const auto turn = found(scene, 10, [](int block) { return block < 5 ? 0.0 : 8.0; });
    CHECK(std::abs(turn.degrees - 8) < 0.3);
    CHECK(survey::is_far(turn));
    CHECK(!turn.curve);  // between two blocks nobody knows which frames are turned
    CHECK(turn.at(30) == 0);
    CHECK(contains(survey::field_turn_text(turn), "smeared"));
  }

  TEST_CASE("a field at rest, noise and a disc without detail turn by nothing") {
    const auto at_rest = [](int) { return 0.0; };
    CHECK(found(scene, 12, at_rest).degrees == 0);
    CHECK(found(smooth_disc, 12, at_rest).degrees == 0);
    CHECK(found([](double, double) { return 0.5; }, 12, at_rest).degrees == 0);
    CHECK(survey::field_turn_text({}).empty());
  }

  TEST_CASE("a long capture is divided into parts of which each can be stacked") {
    const survey::FieldTurn turn{10, 20, {}};
    CHECK(survey::is_far(turn));
    CHECK(contains(survey::advice_on(turn, 300), "parts of about 100 frames"));
    CHECK(contains(survey::advice_on(turn, 300), "--frames 0-99"));
  }
}
