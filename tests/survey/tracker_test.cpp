#include "survey/tracker.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>

#include "support/scene.h"

using namespace lull;

TEST_SUITE("survey/tracker") {
  TEST_CASE("follows a surface to a quarter of a pixel and refuses noise") {
    const test::Scene scene({160, 120}, 8);
    const auto frame = [&](Displacement s, std::uint32_t seed) {
      Plane plane = scene.seen({160, 120}, [s](int, int) {
        return Displacement{-s.x_px, -s.y_px};
      });
      test::add_noise(plane.view(), 0.02, seed);
      return plane;
    };
    survey::Tracker tracker({160, 120}, {quality::TargetKind::field, 0, 0});
    survey::Tracker::Workspace work;
    const Plane first = frame({}, 1);
    tracker.set_reference(first.view(), {}, work);
    for (const Displacement s :
         {Displacement{3.3, -2.6}, Displacement{-17.2, 9.4}, Displacement{0.5, 0.5}}) {
      const Plane moved = frame(s, 2);
      const auto found = tracker.locate(moved.view(), work);
      REQUIRE(found.ok());
      CHECK(std::abs(found.value().x_px - s.x_px) < 0.25);
      CHECK(std::abs(found.value().y_px - s.y_px) < 0.25);
    }
    Plane noise(160, 120);
    test::add_noise(noise.view(), 0.1, 3);
    const auto lost = tracker.locate(noise.view(), work);
    REQUIRE_FALSE(lost.ok());
    CHECK(lost.reason() == Reject::weak_peak);
  }

  TEST_CASE("follows a disc across the whole frame, and reports when it is gone") {
    const auto frame = [](double cx, double cy) {
      Plane plane(128, 96);
      for (int y = 0; y < 96; ++y) {
        for (int x = 0; x < 128; ++x) {
          const double edge = 14 - std::hypot(x - cx, y - cy);
          const double light = 1 / (1 + std::exp(-2 * edge)) * (1 + 0.2 * std::sin((y - cy) / 2));
          plane.row(y)[x] = static_cast<float>(0.02 + 0.5 * light);
        }
      }
      test::add_noise(plane.view(), 0.01, static_cast<std::uint32_t>(cx * 100 + cy));
      return plane;
    };
    survey::Tracker tracker({128, 96}, {quality::TargetKind::disc, 0.02, 0.1});
    survey::Tracker::Workspace work;
    const Plane first = frame(64, 48);
    tracker.set_reference(first.view(), {}, work);
    for (const Displacement at :
         {Displacement{20.4, 30.7}, Displacement{105.2, 75.9}, Displacement{64.5, 20.25}}) {
      const Plane moved = frame(at.x_px, at.y_px);
      const auto found = tracker.locate(moved.view(), work);
      REQUIRE(found.ok());
      CHECK(std::abs(found.value().x_px - (at.x_px - 64)) < 0.25);
      CHECK(std::abs(found.value().y_px - (at.y_px - 48)) < 0.25);
    }
    Plane dark(128, 96);
    test::add_noise(dark.view(), 0.01, 3);
    const auto lost = tracker.locate(dark.view(), work);
    REQUIRE_FALSE(lost.ok());
    CHECK(lost.reason() == Reject::lost_target);
  }

  // The window is cut around the centroid and tapered, so what it is not cut around fades. The
  // cloud has 29 times the area of the disc, and shines a thirtieth as bright above the sky.
  TEST_CASE("thin cloud in a bright sky does not draw the window away from a disc") {
    const auto frame = [](double cx, std::uint32_t seed) {
      Plane plane(128, 96);
      for (int y = 0; y < 96; ++y) {
        for (int x = 0; x < 128; ++x) {
          const double edge = 8 - std::hypot(x - cx, y - 48);
          const double light = 1 / (1 + std::exp(-2 * edge)) * (1 + 0.2 * std::sin((y - 48) / 2.0));
          plane.row(y)[x] = static_cast<float>(0.5 + 0.2 * light + (x < 60 ? 0.006 : 0));
        }
      }
      test::add_noise(plane.view(), 0.0008, seed);
      return plane;
    };
    survey::Tracker tracker({128, 96}, {quality::TargetKind::disc, 0.5, 0.504});
    survey::Tracker::Workspace work;
    const Plane first = frame(108, 1);
    tracker.set_reference(first.view(), {}, work);
    const Plane other = frame(116.5, 2);
    const auto found = tracker.locate(other.view(), work);
    REQUIRE(found.ok());
    CHECK(std::abs(found.value().x_px - 8.5) < 0.3);
    CHECK(std::abs(found.value().y_px) < 0.3);
  }
}
