#include "stack/frame_comparison.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <memory>
#include <numbers>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/statistics.h"
#include "spectrum/frc.h"
#include "spectrum/radial_filter.h"
#include "stack/stacker.h"
#include "support/memory_capture.h"
#include "support/scene.h"

TEST_SUITE("stack/frame_comparison") {
  namespace {

  using namespace lull;

  constexpr Size kSize{160, 144};
  constexpr double kNoise = 0.06;
  constexpr int kFrames = 48;

  // Coarse ground, so that the halves agree far below the finest frequencies, and much noise.
  std::vector<Plane> noisy_frames() {
    const test::Scene scene(kSize, 61, 4, 16);
    std::vector<Plane> frames;
    for (int i = 0; i < kFrames; ++i) {
      frames.push_back(scene.seen(kSize, [i](int x, int) {
        return Displacement{1.5 * std::sin(i * 1.1) + 0.4 * std::sin(x / 40.0 + i),
                            1.5 * std::cos(i * 0.7)};
      }));
      test::add_noise(frames.back().view(), kNoise, static_cast<std::uint32_t>(i));
    }
    return frames;
  }

  }  // namespace

  // Every second frame is soft: a Gaussian of 1.5 px leaves a quarter of the power at 0.125
  // cycles/px (exp(-4 pi^2 s^2 f^2) = 0.25: Bracewell 2000). The kept half is sharp, the capture is
  // half and half, so its frames have (1 + 0.25) / 2 of the power.
  TEST_CASE("frames of the capture are good and bad ones, whatever is kept") {
    std::vector<Plane> frames;
    const test::Scene scene(kSize, 62, 2, 12);
    std::vector<spectrum::FilterPoint> blur;
    for (int step = 0; step <= 36; ++step) {
      const double f = 0.02 * step;
      blur.push_back({f, std::exp(-2 * std::pow(std::numbers::pi * 1.5 * f, 2))});
    }
    for (int i = 0; i < kFrames; ++i) {
      Plane frame = scene.seen(kSize, [](int, int) { return Displacement{}; });
      if (i % 2 == 1) frame = spectrum::filtered(frame.view(), blur);
      test::add_noise(frame.view(), 0.004, static_cast<std::uint32_t>(i));
      frames.push_back(std::move(frame));
    }
    capture::FrameStore store(std::make_unique<test::MemoryCapture>(test::capture_of(frames)),
                              1U << 28);
    const survey::Survey survey = survey::survey_capture(store, {}, {});
    const stack::Candidates candidates(survey, quality::parse_keep("50%"), "memory");
    const std::size_t kept = candidates.count();
    REQUIRE(kept == kFrames / 2);
    stack::FrameBatch batch(store, survey, candidates, std::size_t{1} << 26);
    stack::Accumulator stacks(stack::warp_sampler(kSize), 1);
    batch.load_each(kept, "test", {}, [&](stack::LoadedFrames&& loaded) {
      stacks.add(std::move(loaded).at_tracked_shifts().weigh_equally().contributions(
          stack::Channels::luminance));
    });
    // A stage that is reported counts once, so that no progress line starts again.
    std::map<std::string, std::int64_t, std::less<>> seen;
    const Progress progress([&](std::string_view stage, std::int64_t done, std::int64_t /*total*/) {
      std::int64_t& before = seen[std::string(stage)];
      CHECK(done >= before);
      before = done;
    });
    const auto rings = stack::compare_with_frames(stacks, batch, candidates, kept, {},
                                                  capture::Colour::mono, progress);
    CHECK(seen.size() == 2);
    const auto ring = std::find_if(rings.begin(), rings.end(),
                                   [](const auto& one) { return one.frequency >= 0.12; });
    REQUIRE(ring != rings.end());
    const double left = std::exp(-4 * std::pow(std::numbers::pi * 1.5 * ring->frequency, 2));
    CHECK(ring->capture_power / ring->frame_power == doctest::Approx((1 + left) / 2).epsilon(0.1));
  }

  // All noisy frames, and their sum where they were tracked.
  struct NoisyStack {
    capture::FrameStore store{
        std::make_unique<test::MemoryCapture>(test::capture_of(noisy_frames())), 1U << 28};
    survey::Survey survey = survey::survey_capture(store, {}, {});
    stack::Candidates candidates{survey, quality::parse_keep("100%"), "memory"};
    stack::FrameBatch batch{store, survey, candidates, std::size_t{1} << 26};
    stack::Accumulator stacks{stack::warp_sampler(kSize), 1};

    NoisyStack() {
      batch.load_each(candidates.count(), "test", {}, [&](stack::LoadedFrames&& loaded) {
        stacks.add(std::move(loaded).at_tracked_shifts().weigh_equally().contributions(
            stack::Channels::luminance));
      });
    }
  };

  // The rings are made anew here of the parts of SpectralRatio, which has tests of its own, with
  // the resolution that Fourier ring correlation finds between two different halves.
  TEST_CASE("patches are moved by the resolution of the halves; noise is a variance over light") {
    NoisyStack noisy;
    const stack::Candidates& candidates = noisy.candidates;
    const std::size_t kept = candidates.count();
    stack::FrameBatch& batch = noisy.batch;
    const stack::Accumulator& stacks = noisy.stacks;
    const auto rings =
        stack::compare_with_frames(stacks, batch, candidates, kept, {}, capture::Colour::mono, {});

    const Box box = candidates.covered(kept, kSize);
    const Plane first = stacks.half_mean(0, stack::Half::first);
    const Plane second = stacks.half_mean(0, stack::Half::second);
    const auto resolution =
        spectrum::fourier_ring_correlation(first.view().crop(box), second.view().crop(box))
            .resolution();
    REQUIRE(resolution);
    CHECK(*resolution < 0.3);  // well below that of a half with itself, 0.5
    const Plane mean = stacks.mean();
    double light = 0;
    for (int y = box.y0; y < box.y1; ++y)
      for (int x = box.x0; x < box.x1; ++x) light += static_cast<double>(mean.row(y)[x]);
    light /= static_cast<double>(box.width_px()) * box.height_px();
    const auto expected = [&](double by, const auto& weigh) {
      stack::SpectralRatio ratio(box, capture::Colour::mono, mean.view(), by);
      batch.load_each(kept, "test", {}, [&](stack::LoadedFrames&& loaded) {
        const stack::WeightedFrames frames = weigh(std::move(loaded).at_tracked_shifts());
        std::vector<stack::SpectralRatio::Part> parts;
        for (std::size_t i = 0; i < frames.count(); ++i) {
          const double sigma = candidates.at(frames.position(i)).noise;
          CHECK(sigma == doctest::Approx(kNoise).epsilon(0.15));
          parts.push_back({frames.luminance(i), &frames.estimate(i).field, &frames.weights(i),
                           frames.estimate(i).gain, sigma * sigma / light});
        }
        ratio.add(parts);
      });
      return ratio.against(first.view(), second.view());
    };
    const stack::OutlierBounds bounds(mean.view(), stacks.valid().view());
    const auto by_sharpness = [&](stack::RegisteredFrames&& frames) {
      return std::move(frames).weigh_by_sharpness(bounds);
    };
    const auto right = expected(*resolution, by_sharpness);
    const auto wrong = expected(0.5, by_sharpness);
    // All are kept, so those of the capture are the same frames, with the same weight.
    const auto equally = expected(*resolution, [](stack::RegisteredFrames&& frames) {
      return std::move(frames).weigh_equally();
    });
    const auto of_disc =
        stack::compare_with_frames(stacks, batch, candidates, kept,
                                   {.kind = quality::TargetKind::disc}, capture::Colour::mono, {});
    REQUIRE(rings.size() == right.size());
    double apart = 0;
    for (std::size_t k = 0; k < rings.size(); ++k) {
      CAPTURE(k);
      CHECK(rings[k].mean_power == doctest::Approx(right[k].mean_power).epsilon(1e-6));
      CHECK(rings[k].frame_noise == doctest::Approx(right[k].frame_noise).epsilon(1e-6));
      CHECK(rings[k].frame_power == doctest::Approx(right[k].frame_power).epsilon(1e-6));
      CHECK(rings[k].capture_mean_power == doctest::Approx(equally[k].mean_power).epsilon(1e-6));
      CHECK(rings[k].capture_noise == doctest::Approx(equally[k].frame_noise).epsilon(1e-6));
      CHECK(rings[k].capture_power == doctest::Approx(equally[k].frame_power).epsilon(1e-6));
      CHECK(of_disc[k].capture_power == 0);
      apart = std::max(apart, std::abs(wrong[k].mean_power / right[k].mean_power - 1));
    }
    CHECK(apart > 0.01);  // so the resolution matters here
  }

  // By hand: photon noise has a variance in proportion to the light. Measured where light is at
  // least `lit`, it is that over the mean light of these pixels. As a mosaic's, since the noise of
  // mono frames is corrected by their finest rings.
  TEST_CASE("the noise of frames belongs to the light of the pixels that are lit") {
    NoisyStack noisy;
    const stack::Candidates& candidates = noisy.candidates;
    const std::size_t kept = candidates.count();
    stack::FrameBatch& batch = noisy.batch;
    const stack::Accumulator& stacks = noisy.stacks;
    const Box box = candidates.covered(kept, kSize);
    const Plane mean = stacks.mean();
    std::vector<float> light;
    for (int y = box.y0; y < box.y1; ++y)
      light.insert(light.end(), mean.row(y) + box.x0, mean.row(y) + box.x1);
    const auto lit = static_cast<double>(quantile(light, 0.7));
    const auto mean_from = [&light](double least) {
      double sum = 0;
      double count = 0;
      for (const float value : light) {
        if (value < static_cast<float>(least)) continue;
        sum += static_cast<double>(value);
        ++count;
      }
      return sum / count;
    };
    const auto noise_of = [&](double least) {
      const auto rings = stack::compare_with_kept(stacks, batch, candidates, kept,
                                                  {quality::TargetKind::field, 0, 0, least},
                                                  capture::Colour::cfa, {});
      return rings.at(6).frame_noise;
    };
    REQUIRE(mean_from(lit) > 1.1 * mean_from(0));
    CHECK(noise_of(lit) / noise_of(0) ==
          doctest::Approx(mean_from(0) / mean_from(lit)).epsilon(1e-6));
  }
}
