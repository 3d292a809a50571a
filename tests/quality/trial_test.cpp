#include "quality/trial.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <random>

#include "quality/agreement.h"
#include "quality/combined.h"
#include "quality/noise.h"
#include "support/frames.h"

namespace {

using namespace lull;
using capture::Frame;
using quality::kMetrics;
using quality::Metric;

constexpr int kSide = 128;
constexpr double kScene = 800;  // of 4095
constexpr double kSigma = 40;

capture::CaptureInfo twelve_bits() {
  capture::CaptureInfo info;
  info.size = {kSide, kSide};
  info.sample_type = SampleType::u16;
  info.bits.stored = 16;
  info.bits.used = 12;
  info.full_scale = 4095;
  info.scale = {0, 1.0 / 4095};
  return info;
}

// The same scene of fine waves, with independent noise.
Frame noisy_frame(FrameIndex index, double sigma) {
  std::mt19937 random(static_cast<unsigned>(index) + 1);
  std::normal_distribution<double> noise(0, 1);
  return test::frame_of(
      {kSide, kSide},
      [&](int x, int y) {
        const double light = kScene * (1 + 0.2 * std::sin(x / 3.0) * std::cos(y / 4.0));
        return light + sigma * noise(random);
      },
      index);
}

quality::FrameRecord record_of(const Frame& frame) {
  std::vector<float> scratch;
  quality::FrameRecord record;
  record.index = frame.index;
  // Of a surface: the mean of all samples.
  const auto* samples = frame.planes[0].row<std::uint16_t>(0);
  record.brightness =
      std::accumulate(samples, samples + std::ptrdiff_t{kSide} * kSide, 0.0) / kSide / kSide / 4095;
  record.noise = quality::noise_sigma(frame.planes[0], 1, 0, scratch) / 4095;
  return record;
}

std::vector<quality::Trial> trials_of(int count) {
  const quality::TrialSetting setting{twelve_bits(), {}, 2};
  quality::TrialWorkspace work;
  std::vector<Frame> frames;
  std::vector<quality::FrameRecord> records;
  for (int i = 0; i < count; ++i) {
    frames.push_back(noisy_frame(i, kSigma));
    records.push_back(record_of(frames.back()));
  }
  const std::vector<double> usual = quality::usual_noise(records);
  std::vector<quality::Trial> trials;
  for (std::size_t i = 0; i < frames.size(); ++i) {
    records[i].usual_noise = usual[i];
    trials.push_back(quality::try_measures(frames[i], records[i], setting, work));
  }
  return trials;
}

// How far the mean of the values is from what is expected, in standard errors of the mean.
double standard_errors_from(double expected, const std::vector<double>& values) {
  const auto count = static_cast<double>(values.size());
  const double mean = std::accumulate(values.begin(), values.end(), 0.0) / count;
  double squares = 0;
  for (const double value : values) squares += (value - mean) * (value - mean);
  return (mean - expected) / std::sqrt(squares / (count - 1) / count);
}

// Part of a measure's places along one side of a frame where its stencil fits: at the border the
// energy lacks the others, but the share of the noise is subtracted as if they were there.
double stencil_fits(Metric metric) {
  if (metric == Metric::finest) return 62.0 / 64;  // of half pixels, one either side
  if (metric == Metric::fine) return 61.0 / 64;    // 63 boxes of half pixels, less one either side
  if (metric == Metric::coarse) return 28.0 / 32;  // smoothing and Laplacian: two either side
  return 126.0 / 128;
}

}  // namespace

TEST_SUITE("quality/trial") {
  TEST_CASE("frames that differ in nothing but noise: the halves of a frame do not agree") {
    constexpr int kFrames = 200;
    const auto trials = trials_of(kFrames);
    for (std::size_t m = 0; m < kMetrics.size(); ++m) {
      CAPTURE(quality::metric_name(kMetrics[m]));
      std::array<std::vector<double>, 2> halves;
      for (const auto& trial : trials) {
        for (std::size_t half = 0; half < 2; ++half) {
          halves[half].push_back(trial[m].halves[half]);
        }
      }
      // Standard error of rho without correlation: 1 / sqrt(n - 1) (Kendall 1938, Biometrika 30,
      // 81). Three of them.
      CHECK(std::abs(quality::spearman(halves[0], halves[1])) < 3 / std::sqrt(kFrames - 1.0));
    }
  }

  TEST_CASE("what added noise does to the score: nothing but chance, and what the border lacks") {
    const auto trials = trials_of(100);
    for (std::size_t m = 0; m < kMetrics.size(); ++m) {
      // Not a mean of squares: noise takes more from it where the scene is flat.
      if (kMetrics[m] == Metric::modified_laplacian) continue;
      CAPTURE(quality::metric_name(kMetrics[m]));
      std::vector<double> noisier;
      std::vector<double> halves;
      for (const auto& trial : trials) {
        const auto& scores = trial[m];
        noisier.push_back(scores.noisier - scores.as_recorded);
        halves.push_back(0.5 * (scores.halves[0] + scores.halves[1]) - scores.as_recorded);
      }
      const double share =
          quality::noise_gain(kMetrics[m], capture::Colour::mono) * std::pow(kSigma / kScene, 2);
      const double lacking = 1 - std::pow(stencil_fits(kMetrics[m]), 2);
      CHECK(std::abs(standard_errors_from(-lacking * share, noisier)) < 4);
      CHECK(std::abs(standard_errors_from(-lacking * share, halves)) < 4);
    }
  }

  TEST_CASE("dimmed frames score the same") {
    for (const auto& trial : trials_of(5)) {
      for (const auto& scores : trial) {
        // Floats of 24 bits, of energies that the noise makes up to 100 times the score.
        CHECK(scores.dimmed == doctest::Approx(scores.as_recorded).epsilon(1e-3));
      }
    }
  }
}

TEST_SUITE("quality/altered_frame") {
  TEST_CASE("a frame dimmed to 0.8 above the sky holds exactly these samples") {
    const Frame frame = noisy_frame(3, kSigma);
    const auto info = twelve_bits();
    quality::Alteration alteration;
    alteration.dimming = 0.8;
    alteration.sky = 100.0 / 4095;
    const Frame dim = quality::altered(frame, info, alteration);
    const auto dim_info = quality::altered_info(info, alteration);
    double worst = 0;
    for (int y = 0; y < kSide; ++y) {
      for (int x = 0; x < kSide; ++x) {
        const double light = info.scale.to_light(frame.planes[0].row<std::uint16_t>(y)[x]);
        const double found = dim_info.scale.to_light(dim.planes[0].row<std::uint16_t>(y)[x]);
        worst =
            std::max(worst, std::abs(found - (alteration.sky + 0.8 * (light - alteration.sky))));
      }
    }
    CHECK(worst < 1e-12);
    CHECK(dim_info.scale.to_light(dim_info.full_scale) ==
          doctest::Approx(alteration.sky + 0.8 * (1 - alteration.sky)));
  }

  TEST_CASE("added noise has the standard deviation that was asked for, and is repeatable") {
    const Frame frame = noisy_frame(4, 0);
    const auto info = twelve_bits();
    quality::Alteration alteration;
    alteration.noise_sigma = kSigma / 4095;
    alteration.seed = 7;
    const Frame first = quality::altered(frame, info, alteration);
    const Frame second = quality::altered(frame, info, alteration);
    alteration.seed = 8;
    const Frame other = quality::altered(frame, info, alteration);
    const auto scale = quality::altered_info(info, alteration).scale;
    double sum = 0;
    double squares = 0;
    bool same = true;
    bool differs = false;
    for (int y = 0; y < kSide; ++y) {
      const auto* clean = frame.planes[0].row<std::uint16_t>(y);
      const auto* noisy = first.planes[0].row<std::uint16_t>(y);
      for (int x = 0; x < kSide; ++x) {
        const double added = 4095 * (scale.to_light(noisy[x]) - info.scale.to_light(clean[x]));
        sum += added;
        squares += added * added;
        same = same && noisy[x] == second.planes[0].row<std::uint16_t>(y)[x];
        differs = differs || noisy[x] != other.planes[0].row<std::uint16_t>(y)[x];
      }
    }
    constexpr double kCount = kSide * kSide;
    // Standard errors: sigma / sqrt(n) of the mean, sigma / sqrt(2 n) of the standard deviation.
    CHECK(std::abs(sum / kCount) < 4 * kSigma / std::sqrt(kCount));
    CHECK(std::abs(std::sqrt(squares / kCount) - kSigma) < 4 * kSigma / std::sqrt(2 * kCount));
    CHECK(same);
    CHECK(differs);
  }
}
