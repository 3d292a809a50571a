#include "stack/share_correction.h"

#include <doctest/doctest.h>

#include <cmath>

#include "support/scene.h"

using namespace lull;

TEST_SUITE("stack/share_correction") {
  namespace {

  constexpr Size kSize{90, 70};
  constexpr Box kWhole{0, 0, 90, 70};

  // offset + slope times the scene.
  Plane shaded(const test::Scene& scene, double slope, double offset) {
    Plane plane = scene.seen(kSize, [](int, int) { return Displacement{}; });
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x)
        plane.row(y)[x] = static_cast<float>(offset + slope * static_cast<double>(plane.row(y)[x]));
    }
    return plane;
  }

  }  // namespace

  TEST_CASE("a colour whose detail is a multiple of the luminance's gets that multiple") {
    const test::Scene scene(kSize, 8);
    const Plane before = shaded(scene, 1, 0);
    const Plane after = shaded(scene, 1.2, -0.1);
    for (const double slope : {0.0, 0.4, 1.0}) {
      Plane colour = shaded(scene, slope, 0.3);
      stack::share_correction(before.view(), after.view(), colour.view(), kWhole);
      // By the definition: slope * scene + 0.3 + slope * (0.2 * scene - 0.1).
      const Plane expected = shaded(scene, 1.2 * slope, 0.3 - 0.1 * slope);
      double worst = 0;
      for (int y = 0; y < kSize.height_px; ++y) {
        for (int x = 0; x < kSize.width_px; ++x)
          worst = std::max(worst, std::abs(static_cast<double>(colour.row(y)[x]) -
                                           static_cast<double>(expected.row(y)[x])));
      }
      CHECK(worst < 1e-5);
    }
  }

  TEST_CASE("an even luminance shares nothing out") {
    const Plane even(kSize);
    const test::Scene scene(kSize, 8);
    Plane colour = shaded(scene, 1, 0);
    const Plane as_it_was = Plane::copy_of(colour.view());
    const Plane after = shaded(scene, 1, 0);
    stack::share_correction(even.view(), after.view(), colour.view(), kWhole);
    for (int x = 0; x < kSize.width_px; ++x) CHECK(colour.row(9)[x] == as_it_was.row(9)[x]);
  }
}
