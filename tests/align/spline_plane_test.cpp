#include "align/spline_plane.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "support/bytes.h"
#include "support/run_program.h"
#include "support/scene.h"
#include "support/temporary_folder.h"

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

  TEST_CASE("a row of places reads as each of them does, inside, at the edges and beyond") {
    const test::Scene scene({40, 28}, 9, 1.5, 5.0);
    const Plane plane = scene.seen({40, 28}, [](int, int) { return Displacement{}; });
    const align::SplinePlane spline(plane.view());
    for (double y = -9; y < 37; y += 0.37) {
      std::vector<Displacement> places;
      for (double x = -31; x < 90; x += 0.43) places.push_back({x, y + 0.01 * x});
      std::vector<float> found(places.size());
      spline.read(places, found.data());
      for (std::size_t i = 0; i < places.size(); ++i) {
        CAPTURE(places[i].x_px);
        CAPTURE(places[i].y_px);
        REQUIRE(std::abs(found[i] - spline.at(places[i].x_px, places[i].y_px)) < 1e-5F);
      }
    }
  }

  // scipy.ndimage.map_coordinates, order 3, mode 'mirror': the edge sample is not repeated.
  TEST_CASE("at and beyond the edges it is scipy's spline, mirrored") {
    const test::Scene scene({40, 28}, 9, 1.5, 5.0);
    const Plane plane = scene.seen({40, 28}, [](int, int) { return Displacement{}; });
    const test::TemporaryFolder folder;
    std::vector<double> samples;
    for (int y = 0; y < plane.height(); ++y)
      samples.insert(samples.end(), plane.row(y), plane.row(y) + plane.width());
    test::write_values(folder / "in", samples);
    for (const Displacement d : {Displacement{2.3, -1.6}, Displacement{-3.5, 4.25}}) {
      const test::Run run = test::run_program(
          {"/usr/bin/python3", "-c",
           "import sys, numpy as np\n"
           "from scipy import ndimage\n"
           "a = np.fromfile(sys.argv[1]).reshape(28, 40)\n"
           "y, x = np.mgrid[:28, :40]\n"
           "at = [y + float(sys.argv[4]), x + float(sys.argv[3])]\n"
           "b = ndimage.map_coordinates(a, at, order=3, mode='mirror')\n"
           "b.astype(np.float32).tofile(sys.argv[2])\n",
           folder.file("in"), folder.file("out"), std::to_string(d.x_px), std::to_string(d.y_px)});
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      const auto expected = test::values_of<float>(folder / "out");
      REQUIRE(expected.size() == samples.size());
      const align::SplinePlane spline(plane.view());
      Plane out(plane.size());
      spline.sample(d, out.view());
      for (int y = 0; y < 28; ++y) {
        for (int x = 0; x < 40; ++x) {
          CAPTURE(x);
          CAPTURE(y);
          const auto i = static_cast<std::size_t>(std::ptrdiff_t{y} * 40 + x);
          REQUIRE(std::abs(out.row(y)[x] - expected[i]) < 1e-5F);
        }
      }
    }
  }
}
