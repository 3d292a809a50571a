#include "judge/registration.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "judge/distortion.h"
#include "judge/support.h"
#include "judge/transforms.h"

using namespace lull;
using namespace lull::judge;

namespace {

/// Whole and part of the search, as judge() does it.
Displacement found_shift(const Image& picture) {
  const Truth& truth = test::highland();
  const double rim = truth.rim_px;
  const CoarseMatch coarse = find_coarse(picture, truth.mean_samples);
  const Displacement start = coarse.shift + Displacement{rim, rim};
  const Box inside = {12, 12, picture.width_px - 12, picture.height_px - 12};
  return refine_shift(truth, truth.mean, picture, start, inside, truth.cutoff);
}

void check_shift(const Image& picture, Displacement expected, double bound_px) {
  const Displacement found = found_shift(picture);
  CHECK(std::abs(found.x_px - expected.x_px) < bound_px);
  CHECK(std::abs(found.y_px - expected.y_px) < bound_px);
}

/// Two waves of different directions, over a hundred px long: what air leaves in a stack.
Displacement slow_wave(int x, int y) {
  const double turn = 2 * std::numbers::pi;
  return {0.5 * std::sin(turn * x / 160.0 + 1) * std::cos(turn * y / 220.0),
          0.4 * std::cos(turn * x / 190.0) * std::sin(turn * y / 150.0 + 2)};
}

}  // namespace

TEST_SUITE("judge/registration") {
  TEST_CASE("a known shift of the highland comes back to 0.001 px, to 0.02 px in blur and noise") {
    for (const Displacement shift : {Displacement{0, 0}, Displacement{2.3, -1.7},
                                     Displacement{-4.45, 3.05}, Displacement{0.5, 0.5}}) {
      CAPTURE(shift.x_px);
      const Image moved = test::displaced_highland([&](int, int) { return shift; });
      check_shift(moved, shift, 0.001);
      const Image soft = gaussian_blur(moved, 1.5);
      check_shift(test::sum(soft, test::noise(soft.size(), 0.01, 51)), shift, 0.02);
      // Sharpening is as harmless as blur.
      check_shift(test::sum(moved, difference(moved, gaussian_blur(moved, 2))), shift, 0.01);
    }
  }

  TEST_CASE("a part of the scene is found, and noise is not") {
    const Image part = crop(test::highland_picture(), {70, 60, 230, 190});
    const CoarseMatch match = find_coarse(part, test::highland().mean_samples);
    const double rim = test::highland().rim_px;
    CHECK(match.shift == Displacement{-70 - rim, -60 - rim});
    CHECK(match.correlation > 0.4);
    const CoarseMatch chance =
        find_coarse(test::noise({320, 240}, 1, 52), test::highland().mean_samples);
    CHECK(chance.correlation < 0.15);
  }
}

TEST_SUITE("judge/distortion") {
  TEST_CASE("a known smooth distortion of the highland comes back to 0.05 px") {
    const Truth& truth = test::highland();
    const Image whole = gaussian_blur(test::displaced_highland(slow_wave), 1);
    const Box box = truth.box;
    const Image picture = crop(test::sum(whole, test::noise(whole.size(), 0.003, 53)), box);
    const auto truth_at = [&](const Image& x, const Image& y) {
      return truth.seen(truth.mean, box, {}, x, y);
    };
    const Distortion found = find_distortion(truth_at, picture, truth.cutoff);
    double error = 0;
    double expected = 0;
    double total = 0;
    for (int y = 0; y < picture.height_px; ++y) {
      for (int x = 0; x < picture.width_px; ++x) {
        const Displacement wave = slow_wave(x + box.x0, y + box.y0);
        const double weight = found.weight.at(x, y);
        error += weight * (std::pow(found.x.at(x, y) - wave.x_px, 2) +
                           std::pow(found.y.at(x, y) - wave.y_px, 2));
        expected += weight * (wave.x_px * wave.x_px + wave.y_px * wave.y_px);
        total += weight;
      }
    }
    MESSAGE("rms error " << std::sqrt(error / total) << " px, distortion "
                         << std::sqrt(expected / total) << " px, found " << found.rms_px << " px");
    CHECK(std::sqrt(error / total) < 0.05);
    CHECK(std::abs(found.rms_px - std::sqrt(expected / total)) < 0.05);
  }

  TEST_CASE("the matched truth is the picture, when that is an isotropic blur of it") {
    const Image truth = test::highland_picture();
    const Image picture = gaussian_blur(truth, 2);
    const Image matched = matched_radially(truth, picture, test::highland().cutoff);
    CHECK(mean(matched) == doctest::Approx(mean(picture)).epsilon(1e-9));
    const Image error = difference(matched, picture);
    const Image blur = difference(truth, picture);
    CHECK(mean(product(error, error)) < 1e-3 * mean(product(blur, blur)));
  }
}
