#include "health/shape.h"

#include <doctest/doctest.h>

#include <cmath>
#include <functional>
#include <random>

#include "support/frames.h"
#include "support/memory_capture.h"

namespace {

using namespace lull;

Plane plane_of(int width, int height, const std::function<double(int, int)>& value) {
  Plane plane(width, height);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) plane.row(y)[x] = static_cast<float>(value(x, y));
  }
  return plane;
}

}  // namespace

TEST_SUITE("health/shape") {
  TEST_CASE("a limb is a circle's edge, and shadow has none") {
    std::mt19937 random(3);
    std::normal_distribution<double> noise(0, 4);
    const auto limb = plane_of(160, 120, [&](int x, int y) {
      const double inside = 400 - std::hypot(x + 300, y - 40);
      return 100 + 800 / (1 + std::exp(-inside / 1.5)) + noise(random);
    });
    const auto seen = health::see_edge(limb.view());
    CHECK(seen.limb);
    CHECK(std::abs(seen.object_share - 0.62) < 0.03);  // counted: the circle crosses near x = 100

    const auto ragged = plane_of(160, 120, [&](int x, int y) {
      const double inside = 90 + 8 * std::sin(y / 4.0) + 6 * std::sin(y / 1.7) - x;
      return 100 + 800 / (1 + std::exp(-inside / 1.5)) + noise(random);
    });
    CHECK(!health::see_edge(ragged.view()).limb);
    const auto full = plane_of(160, 120, [&](int x, int y) {
      return 500 + 300 * std::sin(x / 7.0) * std::cos(y / 9.0) + noise(random);
    });
    CHECK(!health::see_edge(full.view()).limb);
    CHECK(health::see_edge(full.view()).object_share == 1);
  }

  TEST_CASE("a Gaussian is a star, a disc with a blurred edge is not") {
    // Area above 1/8 over area above 1/2 of a Gaussian: ln 8 / ln 2 = 3, whatever its width.
    const auto info = test::mono_info({96, 96}, 12);
    const quality::Target target{quality::TargetKind::disc, 100.0 / 4095, 350.0 / 4095};
    const auto seen_of = [&](const std::function<double(double)>& profile) {
      return health::see_object(
          test::frame_of(
              {96, 96},
              [&](int x, int y) { return 100 + 2000 * profile(std::hypot(x - 40.5, y - 50.5)); }),
          info, target);
    };
    const auto star = seen_of([](double r) { return std::exp(-r * r / 2 / 9); });
    CHECK(std::abs(static_cast<double>(star.area_px) / static_cast<double>(star.core_px) - 3) <
          0.3);
    CHECK(health::is_star(static_cast<double>(star.area_px), static_cast<double>(star.core_px)));
    const auto disc = seen_of([](double r) { return 1 / (1 + std::exp((r - 14) / 1.5)); });
    CHECK(!health::is_star(static_cast<double>(disc.area_px), static_cast<double>(disc.core_px)));
    CHECK(std::abs(disc.box.width_px() - 34) <= 2);  // 1/8 of the height at r = 14 + 1.5 ln 7
    CHECK(!disc.cut);
  }

  TEST_CASE("a disc at the frame's edge is cut, noise beside it is not the disc") {
    const auto info = test::mono_info({96, 96}, 12);
    const quality::Target target{quality::TargetKind::disc, 100.0 / 4095, 350.0 / 4095};
    std::mt19937 random(9);
    std::uniform_real_distribution<double> uniform;
    const auto at = [&](double centre) {
      return health::see_object(test::frame_of({96, 96},
                                               [&](int x, int y) {
                                                 const bool spark = uniform(random) < 0.003;
                                                 const bool inside =
                                                     std::hypot(x - centre, y - 48.0) < 20;
                                                 return spark || inside ? 2000 : 100;
                                               }),
                                info, target);
    };
    const auto middle = at(48);
    CHECK(!middle.cut);
    CHECK(std::abs(middle.box.width_px() - 40) <= 3);
    CHECK(at(10).cut);
  }
}
