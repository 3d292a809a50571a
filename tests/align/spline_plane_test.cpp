#include "align/spline_plane.h"

#include <doctest/doctest.h>

#include <cmath>

#include "support/scene.h"

using namespace lull;

TEST_SUITE("align/spline_plane") {
  TEST_CASE("goes through the samples, and between them to 1e-3 of a smooth scene") {
    const test::Scene scene({64, 48}, 4, 2.0, 6.0);
    const Plane plane = scene.seen({64, 48}, [](int, int) { return Displacement{}; });
    const align::SplinePlane spline(plane.view());
    Plane out(64, 48);
    for (const Displacement d :
         {Displacement{}, Displacement{0.5, -0.25}, Displacement{1.3, 2.7}}) {
      spline.sample(d, out.view());
      for (int y = 8; y < 40; ++y) {
        for (int x = 8; x < 56; ++x) {
          CHECK(std::abs(static_cast<double>(out.row(y)[x]) - scene.at(x + d.x_px, y + d.y_px)) <
                1e-3);
        }
      }
    }
  }
}
