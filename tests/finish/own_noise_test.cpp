#include "finish/own_noise.h"

#include <doctest/doctest.h>

#include <cmath>

#include "finish/restore.h"
#include "support/scene.h"

using namespace lull;

namespace {

double rms_difference(const Plane& a, const Plane& b) {
  double squares = 0;
  for (int y = 16; y < a.height() - 16; ++y) {
    for (int x = 16; x < a.width() - 16; ++x) {
      const auto d = static_cast<double>(a.row(y)[x] - b.row(y)[x]);
      squares += d * d;
    }
  }
  return std::sqrt(squares / ((a.width() - 32.0) * (a.height() - 32.0)));
}

Plane scene_of(Size size, double smallest_px) {
  return test::Scene(size, 6, smallest_px, 9).seen(size, [](int, int) { return Displacement{}; });
}

}  // namespace

TEST_SUITE("finish/own_noise") {
  TEST_CASE("white noise on an oversampled picture is found") {
    for (const double sigma : {0.001, 0.01, 0.05}) {
      Plane picture = scene_of({256, 240}, 2.5);
      test::add_noise(picture.view(), sigma, 3);
      const auto found = finish::noise_of_picture(picture.view());
      CAPTURE(sigma);
      CHECK(found.sigma == doctest::Approx(sigma).epsilon(0.06));
    }
  }

  TEST_CASE("its correlation is that of halves with the same noise: SNR / (1 + SNR)") {
    // Halves of the frames have twice the power of noise.
    const Plane truth = scene_of({256, 256}, 2.5);
    const double sigma = 0.01;
    Plane a = Plane::copy_of(truth.view());
    Plane b = Plane::copy_of(truth.view());
    test::add_noise(a.view(), sigma * std::sqrt(2.0), 7);
    test::add_noise(b.view(), sigma * std::sqrt(2.0), 8);
    Plane mean = Plane::copy_of(a.view());
    add(mean.view(), b.view());
    scale(mean.view(), 0.5F);
    const auto halves = spectrum::fourier_ring_correlation(a.view(), b.view());
    const auto own = finish::noise_of_picture(mean.view()).frc;
    REQUIRE(own.rings.size() == halves.rings.size());
    for (std::size_t i = 1; i < own.rings.size(); ++i) {
      CAPTURE(own.rings[i].frequency);
      CHECK(std::abs(own.rings[i].correlation - halves.rings[i].correlation) < 0.15);
    }
    CHECK(1 / own.resolution().value() ==
          doctest::Approx(1 / halves.resolution().value()).epsilon(0.1));
  }

  TEST_CASE("an even picture and one of pure noise have no detail, and come back as they were") {
    Plane even(64, 64);
    even.fill(0.3F);
    Plane noise(96, 80);
    test::add_noise(noise.view(), 0.02, 9);
    for (const Plane* picture : {&even, &noise}) {
      const auto measured = finish::measurements_of_picture({picture->view()});
      CHECK_FALSE(measured.frc.resolution());
      const auto out = finish::restore({picture->view()}, measured, {finish::UndoGaussian{4}, 1});
      CHECK(rms_difference(out.channels[0], *picture) < 1e-6);
    }
  }

  TEST_CASE("a Gaussian blur given by hand is undone, by a curve for it nearly so") {
    const Size size{224, 192};
    const test::Scene scene(size, 6, 1.5, 6);
    const Plane truth = scene.seen(size, [](int, int) { return Displacement{}; });
    // The blur by its exact transfer, from any handbook: see strength_test.cpp.
    std::vector<spectrum::FilterPoint> blur;
    for (int i = 0; i <= 300; ++i) {
      const double f = 0.72 * i / 300;
      const double u = 3.14159265 * 3 / 2.354820 * f;
      blur.push_back({f, std::exp(-2 * u * u)});
    }
    Plane picture = spectrum::filtered(truth.view(), blur);
    test::add_noise(picture.view(), 0.0005, 4);
    const auto measured = finish::measurements_of_picture({picture.view()});
    const double before = rms_difference(picture, truth);
    const auto undone = finish::restore({picture.view()}, measured, {finish::UndoGaussian{3}, 1});
    CHECK(rms_difference(undone.channels[0], truth) < 0.35 * before);
    const finish::DetailCurve curve({{2, 3.0}, {3, 1.9}, {5, 1.25}, {10, 1.05}});
    const auto curved = finish::restore({picture.view()}, measured, {curve, 1});
    CHECK(rms_difference(curved.channels[0], truth) < 0.6 * before);
  }
}
