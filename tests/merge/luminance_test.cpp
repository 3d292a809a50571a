#include "merge/luminance.h"

#include <doctest/doctest.h>

#include <cmath>

#include "merge/detail.h"
#include "support/scene.h"

TEST_SUITE("merge/luminance") {
  namespace {

  using namespace lull;
  using merge::Light;

  constexpr Size kSize{160, 128};

  // Half stacks that agree up to a frequency.
  spectrum::FrcCurve agreeing_to(double highest) {
    spectrum::FrcCurve frc;
    for (int i = 0; i < 50; ++i) {
      const double frequency = 0.01 * (i + 0.5);
      frc.rings.push_back({frequency, frequency < highest ? 1.0 : 0.0, 1e5});
    }
    return frc;
  }

  Plane sharp_scene() {
    return test::Scene(kSize, 9, 1.2, 4).seen(kSize, [](int, int) { return Displacement{}; });
  }

  Plane times(const Plane& plane, float factor) {
    Plane out = Plane::copy_of(plane.view());
    scale(out.view(), factor);
    return out;
  }

  Plane noise(double sigma, std::uint32_t seed) {
    Plane out(kSize);
    test::add_noise(out.view(), sigma, seed);
    return out;
  }

  Plane softened(const Plane& plane) { return merge::blurred(plane.view(), 2.5); }

  constexpr float kShares[3] = {1.2F, 1.0F, 0.8F};

  std::array<Light, 3> colours_of(const Plane& scene, double sigma) {
    std::array<Light, 3> out;
    for (std::size_t c = 0; c < 3; ++c) {
      const auto seed = static_cast<std::uint32_t>(c);
      out[c] = {times(scene, kShares[c]), noise(sigma, 20 + seed)};
      test::add_noise(out[c].light.view(), sigma, 30 + seed);
    }
    return out;
  }

  double rms(const Plane& plane) {
    double sum = 0;
    for (int y = 0; y < plane.height(); ++y)
      for (int x = 0; x < plane.width(); ++x)
        sum += static_cast<double>(plane.row(y)[x]) * static_cast<double>(plane.row(y)[x]);
    return std::sqrt(sum / static_cast<double>(plane.size().area_px()));
  }

  double rms_error(const Plane& plane, const Plane& truth, float factor) {
    Plane off = Plane::copy_of(plane.view());
    add(off.view(), times(truth, -factor).view());
    return rms(off);
  }

  }  // namespace

  TEST_CASE("soft and noisy colours get the detail of the luminance, and keep their shares") {
    const Plane scene = sharp_scene();
    const Plane soft = softened(scene);
    std::array<Light, 3> colours = colours_of(soft, 0.01);
    const double before = rms_error(colours[1].light, scene, 1);
    // Another exposure, and less noise.
    const Light luminance{times(scene, 2.5F), noise(0.002, 5)};
    merge::add_luminance(colours, luminance, agreeing_to(0.06));
    for (std::size_t c = 0; c < 3; ++c) {
      CAPTURE(c);
      CHECK(rms_error(colours[c].light, scene, kShares[c]) < 0.35 * before);
    }
  }

  TEST_CASE("over large areas brightness stays that of the colours") {
    const Plane scene = sharp_scene();
    std::array<Light, 3> colours = colours_of(softened(scene), 0);
    // The luminance sees a slope across the picture that the filters do not.
    Light luminance{Plane::copy_of(scene.view()), noise(0, 1)};
    for (int y = 0; y < kSize.height_px; ++y)
      for (int x = 0; x < kSize.width_px; ++x)
        luminance.light.row(y)[x] *= 0.8F + 0.4F * static_cast<float>(x) / kSize.width_px;
    merge::add_luminance(colours, luminance, agreeing_to(0.1));
    const Plane wide = merge::blurred(merge::mean_of(colours).light.view(), 25);
    const Plane expected = merge::blurred(scene.view(), 25);
    for (int y = 20; y < kSize.height_px - 20; y += 4)
      for (int x = 40; x < kSize.width_px - 40; x += 4)
        CHECK(static_cast<double>(wide.row(y)[x]) ==
              doctest::Approx(static_cast<double>(expected.row(y)[x])).epsilon(0.03));
  }

  TEST_CASE("the noise of the result is what its halves do not share") {
    const Plane scene = sharp_scene();
    // light + noise and light - noise are the halves: their noises are independent.
    const auto halved = [&](const Plane& light, double sigma, std::uint32_t seed) {
      Plane first = Plane::copy_of(light.view());
      Plane second = Plane::copy_of(light.view());
      test::add_noise(first.view(), sigma, seed);
      test::add_noise(second.view(), sigma, seed + 1);
      Light out{Plane(kSize), Plane(kSize)};
      for (int y = 0; y < kSize.height_px; ++y) {
        for (int x = 0; x < kSize.width_px; ++x) {
          out.light.row(y)[x] = 0.5F * (first.row(y)[x] + second.row(y)[x]);
          out.noise.row(y)[x] = 0.5F * (first.row(y)[x] - second.row(y)[x]);
        }
      }
      return out;
    };
    std::array<Light, 3> colours;
    for (std::size_t c = 0; c < 3; ++c)
      colours[c] = halved(times(scene, kShares[c]), 0.02, 40 + 2 * static_cast<std::uint32_t>(c));
    merge::add_luminance(colours, halved(scene, 0.01, 60), agreeing_to(0.3));
    for (std::size_t c = 0; c < 3; ++c) {
      const double error = rms_error(colours[c].light, scene, kShares[c]);
      CHECK(rms(colours[c].noise) == doctest::Approx(error).epsilon(0.15));
    }
  }

  TEST_CASE("dark sky stays dark, and finite") {
    Plane scene(kSize);
    for (int y = 40; y < 90; ++y)
      for (int x = 50; x < 110; ++x) scene.row(y)[x] = 0.6F;
    std::array<Light, 3> colours = colours_of(softened(scene), 0.003);
    merge::add_luminance(colours, {softened(scene), noise(0.001, 2)}, agreeing_to(0.1));
    for (const Light& colour : colours) {
      for (int x = 0; x < kSize.width_px; ++x)
        CHECK(std::abs(static_cast<double>(colour.light.row(10)[x])) < 0.01);
    }
  }
}
