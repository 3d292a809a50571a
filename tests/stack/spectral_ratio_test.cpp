#include "stack/spectral_ratio.h"

#include <doctest/doctest.h>

#include <cmath>
#include <complex>
#include <numbers>
#include <random>
#include <utility>
#include <vector>

#include "spectrum/radial_filter.h"
#include "spectrum/sampling.h"

using namespace lull;
using stack::SpectralRatio;

TEST_SUITE("stack/spectral_ratio") {
  namespace {

  constexpr int kWidth = 200;
  constexpr int kHeight = 150;
  constexpr double kSigma = 1.2;
  constexpr double kCutoff = 0.42;  // cycles/px, of the telescope

  // Detail of all frequencies up to a cutoff, or the same after a Gaussian blur of kSigma, as a sum
  // of waves.
  class Scene {
   public:
    explicit Scene(double cutoff = kCutoff) {
      std::mt19937 random(3);
      std::uniform_real_distribution<double> frequency(-0.5, 0.5);
      std::uniform_real_distribution<double> phase(0, 2 * std::numbers::pi);
      while (waves_.size() < 600) {
        const Wave wave{frequency(random), frequency(random), phase(random)};
        if (std::hypot(wave.fx, wave.fy) < cutoff) waves_.push_back(wave);
      }
    }

    [[nodiscard]] Plane picture(bool blurred) const {
      std::vector<double> sums(static_cast<std::size_t>(kWidth * kHeight));
      for (const Wave& wave : waves_) {
        const double f2 = wave.fx * wave.fx + wave.fy * wave.fy;
        const double kept =
            blurred ? std::exp(-2 * std::numbers::pi * std::numbers::pi * kSigma * kSigma * f2) : 1;
        if (kept < 1e-4) continue;
        for (int y = 0; y < kHeight; ++y) {
          for (int x = 0; x < kWidth; ++x) {
            sums[static_cast<std::size_t>(std::ptrdiff_t{y} * kWidth + x)] +=
                kept * std::cos(2 * std::numbers::pi * (wave.fx * x + wave.fy * y) + wave.phase);
          }
        }
      }
      Plane out(kWidth, kHeight);
      for (int y = 0; y < kHeight; ++y) {
        for (int x = 0; x < kWidth; ++x)
          out.row(y)[x] = static_cast<float>(
              0.5 + 0.004 * sums[static_cast<std::size_t>(std::ptrdiff_t{y} * kWidth + x)]);
      }
      return out;
    }

   private:
    struct Wave {
      double fx, fy, phase;
    };

    std::vector<Wave> waves_;
  };

  Plane noisy(const Plane& clean, double sigma, std::mt19937& random) {
    std::normal_distribution<double> normal(0, sigma);
    Plane out = Plane::copy_of(clean.view());
    for (int y = 0; y < out.height(); ++y) {
      for (int x = 0; x < out.width(); ++x) out.row(y)[x] += static_cast<float>(normal(random));
    }
    return out;
  }

  // As if it had been summed of frames that were warped.
  Plane warped(const Plane& sum) {
    std::vector<spectrum::FilterPoint> left;
    left.reserve(72);
    for (int i = 0; i < 72; ++i) left.push_back({0.01 * i, spectrum::cubic_transfer(0.01 * i)});
    return spectrum::filtered(sum.view(), left);
  }

  // The ratio of the stack of these frames to them.
  std::vector<spectrum::RatioRing> ratio_of(const std::vector<Plane>& frames, double noise) {
    const align::ShiftField field({kWidth, kHeight});
    const std::vector<float> weights(field.local_x.size(), 1.0F);
    Plane mean(kWidth, kHeight);
    for (const Plane& frame : frames) add(mean.view(), frame.view());
    scale(mean.view(), 1.0F / static_cast<float>(frames.size()));
    SpectralRatio ratio({0, 0, kWidth, kHeight}, capture::Colour::mono, mean.view(), 0.4);
    std::vector<SpectralRatio::Part> parts;
    Plane halves[2] = {Plane(kWidth, kHeight), Plane(kWidth, kHeight)};
    for (std::size_t i = 0; i < frames.size(); ++i) {
      // Flat light of 0.5, so the variance over the light is twice the variance.
      parts.push_back({frames[i].view(), &field, &weights, 1, 2 * noise * noise});
      Plane part = Plane::copy_of(frames[i].view());
      scale(part.view(), 2.0F / static_cast<float>(frames.size()));
      add(halves[(i / 2) % 2].view(), part.view());
    }
    ratio.add(parts);
    return ratio.against(warped(halves[0]).view(), warped(halves[1]).view());
  }

  }  // namespace

  TEST_CASE(
      "half sharp, half blurred frames: |mean T|^2 / mean |T|^2 of their transfer functions") {
    const Scene scene;
    const Plane sharp = scene.picture(false);
    const Plane blurred = scene.picture(true);
    for (const double noise : {0.0, 0.05}) {
      CAPTURE(noise);
      std::mt19937 random(5);
      std::vector<Plane> frames;
      frames.reserve(48);
      for (int i = 0; i < 48; ++i)
        frames.push_back(noisy(i % 8 < 4 ? sharp : blurred, noise, random));
      for (const auto& ring : ratio_of(frames, noise)) {
        if (ring.frequency < 0.05 || ring.frequency > 0.37) continue;
        CAPTURE(ring.frequency);
        // Fourier transform of a Gaussian; the ring is narrow against its slope.
        const double t = std::exp(-2 * std::pow(std::numbers::pi * kSigma * ring.frequency, 2));
        const double expected = std::pow((1 + t) / 2, 2) / ((1 + t * t) / 2);
        CHECK(ring.kept_power / ring.frame_power == doctest::Approx(expected).epsilon(0.04));
        // This scene has little coarse detail, so noise hides how its patches are moved.
        if (noise == 0)
          CHECK(ring.mean_power / ring.frame_power == doctest::Approx(expected).epsilon(0.04));
      }
    }
  }

  // Waves of all frequencies up to 0.3 cycles/px, weaker the finer they are; those up to a bound
  // are displaced by one distance, the finer ones by another.
  Plane displaced(double bound, Displacement coarse, Displacement fine) {
    std::mt19937 random(12);
    std::uniform_real_distribution<double> radius(0.015, 0.3);
    std::uniform_real_distribution<double> angle(0, 2 * std::numbers::pi);
    Plane out(kWidth, kHeight);
    out.fill(0.5F);
    for (int n = 0; n < 240; ++n) {
      const double f = radius(random);
      const double direction = angle(random);
      const Displacement by = f <= bound ? coarse : fine;
      const double fx = 2 * std::numbers::pi * f * std::cos(direction);
      const double fy = 2 * std::numbers::pi * f * std::sin(direction);
      const double phase = angle(random) - fx * by.x_px - fy * by.y_px;
      const double height = 0.0006 / f;
      for (int y = 0; y < kHeight; ++y) {
        std::complex<double> wave = std::polar(height, fy * y + phase);
        const std::complex<double> step = std::polar(1.0, fx);
        for (int x = 0; x < kWidth; ++x) {
          out.row(y)[x] += static_cast<float>(wave.real());
          wave *= step;
        }
      }
    }
    return out;
  }

  // The power of the mean of moved frames over that of the frames, by ring.
  std::vector<std::pair<double, double>> agreement_of(const std::vector<Plane>& frames,
                                                      const Plane& reference, double resolution) {
    const align::ShiftField field({kWidth, kHeight});
    const std::vector<float> weights(field.local_x.size(), 1.0F);
    SpectralRatio ratio({16, 16, kWidth - 16, kHeight - 16}, capture::Colour::mono,
                        reference.view(), resolution);
    std::vector<SpectralRatio::Part> parts;
    parts.reserve(frames.size());
    for (const Plane& frame : frames) parts.push_back({frame.view(), &field, &weights, 1, 0});
    ratio.add(parts);
    std::vector<std::pair<double, double>> out;
    for (const auto& ring : ratio.against(reference.view(), reference.view()))
      out.emplace_back(ring.frequency, ring.mean_power / ring.frame_power);
    return out;
  }

  TEST_CASE("frames that are only displaced agree fully once each patch is moved") {
    std::vector<Plane> frames;
    for (int i = 0; i < 12; ++i) {
      const Displacement by{1.4 * std::sin(1.7 * i), 1.4 * std::cos(2.3 * i)};
      frames.push_back(displaced(0.5, by, by));
    }
    for (const auto& ring : agreement_of(frames, displaced(0.5, {}, {}), 0.3)) {
      const auto frequency = ring.first;  // bindings cannot be captured
      const auto agreement = ring.second;
      if (frequency < 0.03 || frequency > 0.27) continue;
      CAPTURE(frequency);
      // A displacement that was left, or made twice as large, would take (pi f d)^2 and more.
      CHECK(agreement == doctest::Approx(1).epsilon(0.03));
    }
  }

  // Tilts are those of 0.12 of the cutoff (spectrum/coherence.h), which are 0.13 of the resolution:
  // 0.039 cycles/px here. What finer detail does is the air's. Displaced by d to either side, its
  // mean keeps cos^2 (2 pi f d) along d, and over all directions (1 + J0(4 pi f d)) / 2: 0.35 at
  // f d = 0.3, where the Bessel function is -0.40 (Abramowitz & Stegun, table 9.1: J0(3.77)).
  TEST_CASE("only coarse detail says how a patch is moved, and fine detail then disagrees") {
    std::vector<Plane> frames;
    for (int i = 0; i < 12; ++i) {
      const double sign = i / 2 % 2 == 0 ? 1 : -1;
      frames.push_back(displaced(0.05, {}, {1.5 * sign, 0}));
    }
    double coarse = 0;
    double fine = 0;
    for (const auto& [frequency, agreement] : agreement_of(frames, displaced(0.05, {}, {}), 0.3)) {
      if (frequency > 0.02 && frequency < 0.04) coarse = agreement;
      if (std::abs(frequency - 0.2) < 0.01) fine = agreement;
    }
    CHECK(coarse == doctest::Approx(1).epsilon(0.1));
    CHECK(fine > 0.15);
    CHECK(fine < 0.55);
  }

  // Alleysson, Suesstrunk & Herault 2005: a mosaic carries its colours around 0.5 cycles/px.
  TEST_CASE("a mosaic's luminance is valid up to half way to its colours") {
    std::mt19937 random(3);
    const Plane frame = noisy(Plane(128, 128), 1, random);
    const align::ShiftField field({128, 128});
    const std::vector<float> weights(field.local_x.size(), 1.0F);
    const auto finest = [&](bool mosaic) {
      stack::SpectralRatio ratio({0, 0, 128, 128},
                                 mosaic ? capture::Colour::cfa : capture::Colour::mono,
                                 frame.view(), 0.4);
      ratio.add({{frame.view(), &field, &weights, 1.0, 0.0}});
      double last = 0;
      for (const auto& ring : ratio.against(frame.view(), frame.view()))
        last = ring.frame_power > 0 ? ring.frequency : last;
      return last;
    };
    CHECK(finest(true) < 0.25);
    CHECK(finest(true) > 0.23);
    CHECK(finest(false) > 0.48);
    stack::SpectralRatio ratio({0, 0, 128, 128}, capture::Colour::cfa, frame.view(), 0.4);
    ratio.add({{frame.view(), &field, &weights, 1.0, 0.0}});
    for (const auto& ring : ratio.against(frame.view(), frame.view())) {
      // [1 2 1] / 4 leaves (1 + cos 2 pi f) / 2 of the amplitude along either axis.
      const double least = std::pow(0.5 + 0.5 * std::cos(2 * std::numbers::pi * ring.frequency), 2);
      CHECK(ring.smoothing <= 1);
      CHECK(ring.smoothing > 0.9 * least);
    }
  }

  TEST_CASE("frames that are equal but for their noise: 1, the noise subtracted from both") {
    const Scene scene;
    const Plane sharp = scene.picture(false);
    std::mt19937 random(9);
    std::vector<Plane> frames;
    frames.reserve(48);
    for (int i = 0; i < 48; ++i) frames.push_back(noisy(sharp, 0.08, random));
    for (const auto& ring : ratio_of(frames, 0.08)) {
      if (ring.frequency < 0.05 || ring.frequency > 0.37) continue;
      CHECK(ring.kept_power / ring.frame_power == doctest::Approx(1).epsilon(0.05));
      CHECK(ring.frame_noise > 0);
    }
  }

  TEST_CASE("a frame that does not reach a patch does not count there") {
    const Scene scene;
    const Plane sharp = scene.picture(false);
    const Plane blurred = scene.picture(true);
    const align::ShiftField here({kWidth, kHeight});
    const align::ShiftField away({kWidth, kHeight}, {120, 0});
    const std::vector<float> weights(here.local_x.size(), 1.0F);
    const auto rings_with = [&](const align::ShiftField& other) {
      SpectralRatio ratio({0, 0, kWidth, kHeight}, capture::Colour::mono, sharp.view(), 0.4);
      ratio.add({{sharp.view(), &here, &weights, 1, 0},
                 {sharp.view(), &here, &weights, 1, 0},
                 {blurred.view(), &other, &weights, 1, 0}});
      return ratio.against(sharp.view(), sharp.view());
    };
    const auto alone = rings_with(away);
    const auto both = rings_with(here);
    CHECK(both[16].frame_power < 0.8 * alone[16].frame_power);
    CHECK(alone[16].mean_power == doctest::Approx(alone[16].frame_power).epsilon(1e-4));
  }

  TEST_CASE("detail that is finer than the pixels is not taken for noise") {
    const Plane sharp = Scene(0.7).picture(false);
    std::mt19937 random(9);
    std::vector<Plane> frames;
    frames.reserve(48);
    for (int i = 0; i < 48; ++i) frames.push_back(noisy(sharp, 0.02, random));
    for (const auto& ring : ratio_of(frames, 0.02)) {
      if (ring.frequency < 0.05 || ring.frequency > 0.44) continue;
      CAPTURE(ring.frequency);
      CHECK(ring.kept_power / ring.frame_power == doctest::Approx(1).epsilon(0.1));
    }
  }
}
