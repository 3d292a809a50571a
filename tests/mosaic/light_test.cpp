// Covers: mosaic/brightness, mosaic/match_blurs
#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "merge/detail.h"
#include "mosaic/brightness.h"
#include "mosaic/match_blurs.h"
#include "mosaic/panels.h"
#include "support/scene.h"

using namespace lull;

namespace {

constexpr Size kSheet{420, 320};

}  // namespace

TEST_SUITE("mosaic/light") {
  TEST_CASE("gains, offsets and vignetting follow from the overlaps") {
    const align::SplinePlane ground(test::rough_ground({800, 340}, 21).view());
    const std::vector<mosaic::PanelMap> maps = {
        test::upright(kSheet, 0, 0), test::upright(kSheet, 180, 10), test::upright(kSheet, 370, 5)};
    const double gain[] = {1.06, 0.97, 0.98};
    const double offset[] = {0.0, 0.004, -0.002};
    std::vector<mosaic::Sketch> sketches;
    for (std::size_t i = 0; i < maps.size(); ++i) {
      Plane seen = test::seen_by(maps[i], ground);
      for (int y = 0; y < kSheet.height_px; ++y) {
        for (int x = 0; x < kSheet.width_px; ++x) {
          const double r2 = maps[i].radius2({static_cast<double>(x), static_cast<double>(y)});
          seen.row(y)[x] = static_cast<float>(
              gain[i] * (1 - 0.05 * r2) * static_cast<double>(seen.row(y)[x]) + offset[i]);
        }
      }
      sketches.push_back(mosaic::sketch_of(test::gray(std::move(seen))));
    }
    const auto light =
        mosaic::brightness_of(sketches, maps, {0, 1, 2}, {{0, 1, {}}, {1, 2, {}}, {0, 2, {}}});
    REQUIRE(light.size() == 1);
    // The light of a gray place, seen at the middle and at a corner, becomes one.
    double values[3];
    for (std::size_t i = 0; i < 3; ++i) {
      const auto brought = [&](double r2) {
        const double seen = gain[i] * (1 - 0.05 * r2) * 0.5 + offset[i];
        return (seen + light[0][i].offset) * light[0][i].factor_at(r2);
      };
      values[i] = brought(0.2);
      CHECK(brought(0.8) / brought(0.2) == doctest::Approx(1).epsilon(0.004));
    }
    CHECK(values[1] / values[0] == doctest::Approx(1).epsilon(0.002));
    CHECK(values[2] / values[0] == doctest::Approx(1).epsilon(0.002));
    CHECK(light[0][0].gain * light[0][1].gain * light[0][2].gain == doctest::Approx(1));
  }

  TEST_CASE("noise does not draw the gains to where no light at all fits best") {
    const align::SplinePlane ground(test::rough_ground({800, 340}, 22).view());
    const std::vector<mosaic::PanelMap> maps = {test::upright(kSheet, 0, 0),
                                                test::upright(kSheet, 120, 0)};
    std::vector<mosaic::Sketch> sketches;
    for (std::size_t i = 0; i < maps.size(); ++i) {
      Plane seen = test::seen_by(maps[i], ground);
      scale(seen.view(), i == 0 ? 1.05F : 0.95F);
      test::add_noise(seen.view(), 0.3, 90 + static_cast<std::uint32_t>(i));
      sketches.push_back(mosaic::sketch_of(test::gray(std::move(seen))));
    }
    const auto light = mosaic::brightness_of(sketches, maps, {0, 1}, {{0, 1, {}}});
    const auto brought = [&](std::size_t i, double gain) {
      return (gain * 0.5 + light[0][i].offset) * light[0][i].gain;
    };
    CHECK(brought(1, 0.95) / brought(0, 1.05) == doctest::Approx(1).epsilon(0.02));
  }

  // The transfer of a Gaussian blur: exp(-2 pi^2 sigma^2 f^2) (Bracewell, The Fourier Transform and
  // Its Applications, table of pairs, from memory).
  TEST_CASE("a panel that is blurred more is told by as much, and both meet in the middle") {
    const align::SplinePlane ground(test::rough_ground({700, 340}, 31).view());
    const std::vector<mosaic::PanelMap> maps = {test::upright(kSheet, 0, 0),
                                                test::upright(kSheet, 150, 7)};
    constexpr double kSigma = 0.9;
    mosaic::Shelf<mosaic::Readable> shelf(
        [&](mosaic::PanelIndex panel) {
          const Plane seen = test::seen_by(maps[panel], ground);
          mosaic::PanelPicture out;
          Plane noise(kSheet);
          test::add_noise(noise.view(), 0.0005, static_cast<std::uint32_t>(panel));
          Plane light =
              panel == 1 ? merge::blurred(seen.view(), kSigma) : Plane::copy_of(seen.view());
          test::add_noise(light.view(), 0.0005, 70 + static_cast<std::uint32_t>(panel));
          out.push_back({std::move(light), std::move(noise)});
          return mosaic::readable(out);
        },
        mosaic::bytes_of, 1e9);
    const auto gains = mosaic::gains_to_one_blur(maps, {0, 1}, {{0, 1, {}}}, shelf, {});
    REQUIRE_FALSE(gains[0].empty());
    REQUIRE_FALSE(gains[1].empty());
    for (const double f : {0.1, 0.15, 0.2}) {
      const double apart = std::exp(-2 * std::pow(std::numbers::pi * kSigma * f, 2));
      CHECK(spectrum::gain_at(gains[0], f) == doctest::Approx(std::sqrt(apart)).epsilon(0.04));
      CHECK(spectrum::gain_at(gains[1], f) == doctest::Approx(1 / std::sqrt(apart)).epsilon(0.06));
    }
    CHECK(spectrum::gain_at(gains[1], 0) == 1);
    // Blur of air begins with the power 5/3 of the frequency (Fried 1966, J. Opt. Soc. Am. 56,
    // 1372): 0.31 of it at half the frequency. A straight line, 0.5, would bring a disc's light
    // into its sky.
    constexpr double kFirstRing = 1.5 / 64;
    for (const auto& curve : gains) {
      const double changed = spectrum::gain_at(curve, kFirstRing) - 1;
      CHECK((spectrum::gain_at(curve, kFirstRing / 2) - 1) / changed ==
            doctest::Approx(0.315).epsilon(0.05));
    }
  }
}
