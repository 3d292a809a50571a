#include "health/detail_spectrum.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <optional>
#include <random>

#include "support/frames.h"
#include "support/memory_capture.h"

namespace {

using namespace lull;
using health::DetailSpectrumSum;

struct Scene {
  double cutoff = 0.3;    ///< cycles/px; no wave of the scene is finer
  double amplitude = 30;  ///< of each wave
  double noise = 10;
  double pattern = 0;  ///< of a fixed pattern
  bool mosaic = false;
};

// Waves of all directions and of even spread in frequency up to the cutoff, with new phases in each
// frame as behind moving air, and white noise.
std::optional<health::DetailSpectrum> spectrum_of(const Scene& scene) {
  constexpr int kSide = 128;
  std::mt19937 random(77);
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> uniform(0, 1);
  std::vector<double> fixed(std::size_t{kSide} * kSide);
  for (double& value : fixed) value = scene.pattern * normal(random);
  auto info = test::mono_info({kSide, kSide}, 16);
  if (scene.mosaic) {
    info.colour = capture::Colour::cfa;
    info.cfa = capture::Cfa::rggb;
  }
  DetailSpectrumSum sum(info);
  std::vector<capture::Frame> frames;
  for (int n = 0; n < 24; ++n) {
    std::vector<double> values(fixed);
    for (double& value : values) value += 5000 + scene.noise * normal(random);
    for (int k = 0; k < 24; ++k) {
      const double f = scene.cutoff * (k + 0.5) / 24;
      const double direction = std::numbers::pi * uniform(random);
      const double fx = f * std::cos(direction);
      const double fy = f * std::sin(direction);
      const double phase = uniform(random);
      for (int i = 0; i < kSide * kSide; ++i) {
        const double at = fx * (i % kSide) + fy * std::floor(i / kSide) + phase;
        values[static_cast<std::size_t>(i)] +=
            scene.amplitude * std::sin(2 * std::numbers::pi * at);
      }
    }
    frames.push_back(test::frame_of(
        {kSide, kSide},
        [&](int x, int y) {
          const double value = values[static_cast<std::size_t>(std::ptrdiff_t{kSide} * y + x)];
          // Red and blue differ: what a mosaic adds at the corners of the spectrum.
          const bool green = !scene.mosaic || (x + y) % 2 == 1;
          return std::round(green ? value : 0.4 * value);
        },
        n));
  }
  for (int block = 0; block < 3; ++block) {
    std::vector<const capture::Frame*> part;
    for (std::size_t i = 0; i < 8; ++i)
      part.push_back(&frames[static_cast<std::size_t>(block) * 8 + i]);
    sum.add(part, std::vector<Displacement>(8, Displacement{kSide / 2.0, kSide / 2.0}));
  }
  return sum.result();
}

}  // namespace

TEST_SUITE("health/detail_spectrum") {
  TEST_CASE("detail ends where the scene has none, by construction") {
    // A ring is 0.02 cycles/px wide, and the window spreads a wave over 2 / 128.
    for (const double cutoff : {0.12, 0.22, 0.34, 0.44}) {
      CAPTURE(cutoff);
      const auto spectrum = spectrum_of({.cutoff = cutoff});
      REQUIRE(spectrum);
      REQUIRE(spectrum->limit);
      CHECK(std::abs(*spectrum->limit - cutoff) < 0.03);
      CHECK(!spectrum->to_the_end);
    }
  }

  TEST_CASE("a mosaic's green is judged although red and blue differ") {
    const auto spectrum = spectrum_of({.cutoff = 0.25, .mosaic = true});
    REQUIRE(spectrum);
    REQUIRE(spectrum->limit);
    CHECK(std::abs(*spectrum->limit - 0.25) < 0.03);
  }

  TEST_CASE("what stands still is no detail") {
    const auto spectrum = spectrum_of({.cutoff = 0.2, .pattern = 40});
    REQUIRE(spectrum);
    REQUIRE(spectrum->limit);
    CHECK(std::abs(*spectrum->limit - 0.2) < 0.03);
  }

  TEST_CASE("noise alone has no detail, and detail up to Nyquist is reported") {
    CHECK(!spectrum_of({.amplitude = 0})->limit);
    const auto spectrum = spectrum_of({.cutoff = 0.53});
    REQUIRE(spectrum->limit);
    CHECK(spectrum->to_the_end);
  }
}
