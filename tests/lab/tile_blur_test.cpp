#include "lab/tile_blur.h"

#include <doctest/doctest.h>

#include <cmath>

#include "lab/canvas.h"

using lull::Plane;
using lull::lab::TileBlur;

namespace {

// A Gaussian PSF whose centre is off by (dx, 0).
Plane gaussian(int side, double sigma, double dx) {
  Plane psf(side, side);
  double sum = 0;
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      const double u = (x < side / 2 ? x : x - side) - dx;
      const double v = y < side / 2 ? y : y - side;
      psf.row(y)[x] = static_cast<float>(std::exp(-(u * u + v * v) / (2 * sigma * sigma)));
      sum += static_cast<double>(psf.row(y)[x]);
    }
  }
  lull::scale(psf.view(), static_cast<float>(1 / sum));
  return psf;
}

// What a camera sees of the blurred scene.
Plane blurred(const Plane& scene, int margin, double sigma, double jitter) {
  constexpr int kPsf = 48;
  const TileBlur blur(scene, 32, kPsf);
  Plane splines(scene.size());
  TileBlur::Workspace work;
  int number = 0;
  for (const TileBlur::Tile& tile : blur.tiles())
    blur.add(tile, gaussian(kPsf, sigma, number++ % 2 == 0 ? jitter : -jitter), splines, work);
  const lull::lab::Canvas canvas{scene.width() - 2 * margin, scene.height() - 2 * margin, margin,
                                 1};
  return lull::lab::seen(splines, canvas, {},
                         lull::lab::NodeField(canvas.width_px, canvas.height_px));
}

}  // namespace

TEST_SUITE("lab/tile_blur") {
  TEST_CASE("even ground stays even though neighbouring PSFs are off centre") {
    Plane scene(300, 260);
    scene.fill(0.7F);
    const Plane seen = blurred(scene, 60, 3, 1.5);
    for (int y = 0; y < seen.height(); ++y) {
      for (int x = 0; x < seen.width(); ++x) REQUIRE(std::abs(seen.row(y)[x] - 0.7F) < 2e-5F);
    }
  }

  // Convolution of Gaussians: variances add (and that of a pixel, 1/12).
  TEST_CASE("a blurred bump has the sum of the variances, wherever it lies among the tiles") {
    for (const int x0 : {128, 140, 144}) {
      CAPTURE(x0);
      Plane scene(300, 260);
      for (int y = 0; y < 260; ++y) {
        for (int x = 0; x < 300; ++x) {
          const double r2 = (x - x0) * (x - x0) + (y - 130) * (y - 130);
          scene.row(y)[x] = static_cast<float>(std::exp(-r2 / 18));
        }
      }
      const Plane seen = blurred(scene, 60, 4, 0);
      const double total = 9 + 16 + 1.0 / 12;
      CHECK(static_cast<double>(seen.row(130 - 60)[x0 - 60]) ==
            doctest::Approx(9 / total).epsilon(2e-3));
      CHECK(static_cast<double>(seen.row(130 - 60)[x0 - 60 + 6]) ==
            doctest::Approx(9 / total * std::exp(-18 / total)).epsilon(2e-3));
    }
  }
}
