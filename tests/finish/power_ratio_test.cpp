#include "finish/power_ratio.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "spectrum/coherence.h"

using namespace lull;
using finish::Blur;
using finish::FrameSet;
using finish::PowerRatio;

namespace {

using Ring = spectrum::RatioRing;

constexpr double kCutoff = 1.0 / 3;
constexpr double kResolution = 0.3;

// <|S|^2> of frames that were not chosen, by the formulas in blur.h.
double power_of_capture(double q, double coherent_as) {
  const double turbulence = coherent_as * std::pow(coherent_as / 6, 0.15);
  const double shared = spectrum::expected_coherence(q, turbulence);
  return spectrum::expected_speckle_power(q, turbulence) *
         (shared + (1 - shared) / (1 + std::pow(turbulence / 5, 3)));
}

constexpr double kCoherenceShare = 0.7;

double power_of_kept(const Blur& truth, double q, double t, double coherent_as, double share) {
  const double by_cells =
      t * t + (1 - t * t) / (6.3 * std::pow(q, -1.45) * std::sqrt(1 - truth.core));
  return std::pow(
             spectrum::expected_speckle_power(q, coherent_as * std::pow(coherent_as / 2.8, 0.35)),
             share) *
         std::pow(by_cells, 1 - share);
}

// Of a stack of such a blur, brighter than its frames.
std::vector<Ring> rings_for(const Blur& truth, double coherent_as, double brightness,
                            double share = kCoherenceShare) {
  std::vector<Ring> rings;
  for (int k = 0; k < 32; ++k) {
    Ring ring;
    ring.frequency = 0.5 * (k + 0.5) / 32;
    const double q = ring.frequency / truth.cutoff;
    const double t = truth.transfer(ring.frequency);
    const double object = 1e3 * std::pow(ring.frequency, -3);
    ring.kept_power = brightness * brightness * object * t * t;
    ring.frame_power = object * power_of_kept(truth, q, t, coherent_as, share);
    ring.mean_power = ring.frame_power * spectrum::expected_coherence(q, coherent_as);
    ring.capture_power = object * power_of_capture(q, coherent_as);
    ring.capture_mean_power = ring.capture_power * spectrum::expected_coherence(q, coherent_as);
    ring.frame_noise = ring.capture_noise = 1;
    rings.push_back(ring);
  }
  return rings;
}

double deviance(const std::vector<Ring>& rings, FrameSet frames, const Blur& blur,
                double share = kCoherenceShare) {
  const PowerRatio ratio(rings, kResolution, frames, share);
  const auto at_cutoff = ratio.at(kCutoff);
  REQUIRE(at_cutoff);
  const auto found = at_cutoff->deviance(blur, at_cutoff->passed_by(blur.halo));
  REQUIRE(found);
  return *found;
}

}  // namespace

TEST_SUITE("finish/power_ratio") {
  TEST_CASE("frames of the capture tell the blur of a stack of better ones, at any brightness") {
    for (const double coherent_as : {3.0, 5.0, 8.0}) {
      for (const double core : {0.1, 0.3, 0.5}) {
        for (const double brightness : {1.0, 1.2}) {
          CAPTURE(coherent_as);
          CAPTURE(core);
          const Blur truth{core, 0.35 * kCutoff, kCutoff};
          const auto rings = rings_for(truth, coherent_as, brightness);
          const double least = deviance(rings, FrameSet::of_capture, truth);
          for (const double factor : {0.8, 1.25}) {
            CHECK(deviance(rings, FrameSet::of_capture, {factor * core, truth.halo, truth.cutoff}) >
                  least + 0.2);
            CHECK(deviance(rings, FrameSet::of_capture, {core, factor * truth.halo, truth.cutoff}) >
                  least + 0.2);
          }
        }
      }
    }
  }

  TEST_CASE("kept frames tell it too, by coherence and cells in any proportion") {
    const Blur truth{0.3, 0.33 * kCutoff, kCutoff};
    for (const double share : {0.0, 0.3, 0.7}) {
      CAPTURE(share);
      const auto rings = rings_for(truth, 4, 1, share);
      const auto off = [&](double core) {
        return deviance(rings, FrameSet::kept, {core, truth.halo, truth.cutoff}, share);
      };
      CHECK(off(0.24) > off(0.3) + 0.2);
      CHECK(off(0.375) > off(0.3) + 0.2);
    }
  }

  TEST_CASE("each set of frames is judged by its own powers and noise") {
    const Blur truth{0.3, 0.33 * kCutoff, kCutoff};
    const auto rings = rings_for(truth, 4, 1);
    auto other_kept = rings;
    auto other_capture = rings;
    for (Ring& ring : other_kept) {
      ring.frame_power *= 3;
      ring.mean_power *= 2;
      ring.frame_noise = 40;
    }
    for (Ring& ring : other_capture) {
      ring.capture_power *= 3;
      ring.capture_mean_power *= 2;
      ring.capture_noise = 40;
    }
    const auto same = [&](const std::vector<Ring>& changed, FrameSet frames) {
      return deviance(changed, frames, truth) == deviance(rings, frames, truth);
    };
    CHECK(same(other_kept, FrameSet::of_capture));
    CHECK(same(other_capture, FrameSet::kept));
    CHECK_FALSE(same(other_kept, FrameSet::kept));
    CHECK_FALSE(same(other_capture, FrameSet::of_capture));
  }

  TEST_CASE("a capture that was not compared tells nothing") {
    auto rings = rings_for({0.3, 0.33 * kCutoff, kCutoff}, 4, 1);
    for (Ring& ring : rings) ring.capture_power = ring.capture_mean_power = ring.capture_noise = 0;
    const PowerRatio of_capture(rings, kResolution, FrameSet::of_capture, kCoherenceShare);
    const PowerRatio kept(rings, kResolution, FrameSet::kept, kCoherenceShare);
    CHECK_FALSE(of_capture.at(kCutoff));
    CHECK(kept.at(kCutoff));
  }

  TEST_CASE("no ring below a cutoff that is far too low: no deviance") {
    const auto rings = rings_for({0.3, 0.33 * kCutoff, kCutoff}, 4, 1);
    const PowerRatio ratio(rings, kResolution, FrameSet::kept, kCoherenceShare);
    const auto at_cutoff = ratio.at(kCutoff);
    REQUIRE(at_cutoff);
    CHECK_FALSE(at_cutoff->deviance({0.3, 0.01, 0.02}, at_cutoff->passed_by(0.01)));
  }
}
