#include "stack/relative_blur.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "support/scene.h"

using namespace lull;

TEST_SUITE("stack/relative_blur") {
  TEST_CASE("the transfer of a Gaussian blur is found: exp(-2 pi^2 sigma^2 f^2)") {
    // The Fourier transform of a Gaussian: Bracewell, The Fourier Transform and Its Applications.
    constexpr double kSigma = 1.2;
    const auto transfer = [](double f) {
      return std::exp(-2 * std::pow(std::numbers::pi * kSigma * f, 2));
    };
    const Size size{180, 150};
    const test::Scene scene(size, 4);
    Plane sharp = scene.seen(size, [](int, int) { return Displacement{}; });
    std::vector<spectrum::FilterPoint> curve;
    curve.reserve(72);
    for (int i = 0; i < 72; ++i) curve.push_back({0.01 * i, transfer(0.01 * i)});
    const Plane soft = spectrum::filtered(sharp.view(), curve);
    test::add_noise(sharp.view(), 1e-4, 5);
    const auto found = stack::relative_blur(sharp.view(), soft.view());
    for (const spectrum::FilterPoint& point : found) {
      if (point.frequency < 0.3) {
        CAPTURE(point.frequency);
        CHECK(point.gain == doctest::Approx(transfer(point.frequency)).epsilon(0.05));
      }
      CHECK(point.gain <= 1);
      CHECK(point.gain >= 0);
    }
  }

  TEST_CASE("equal: no blur; nothing in common: no gain") {
    const Size size{96, 80};
    const test::Scene scene(size, 4);
    const Plane picture = scene.seen(size, [](int, int) { return Displacement{}; });
    for (const auto& point : stack::relative_blur(picture.view(), picture.view()))
      CHECK(point.gain == doctest::Approx(1));
    const Plane even(size);
    CHECK(stack::relative_blur(picture.view(), even.view()).back().gain == 0);
    CHECK(stack::relative_blur(even.view(), picture.view()).back().gain == 0);
  }
}
