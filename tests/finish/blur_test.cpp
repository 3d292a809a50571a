#include "finish/blur.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "finish/telescope.h"
#include "spectrum/coherence.h"

using namespace lull;
using finish::Blur;

namespace {

using Ring = spectrum::RatioRing;

// Air that leaves about such a core.
double turbulence_for(double core) { return 3 * std::pow(-std::log(core), 0.6); }

// What frames and stack show for a known blur in that air, by the formula in blur.h.
std::vector<Ring> rings_for(const Blur& truth, double brightness, double noise) {
  const double turbulence = turbulence_for(truth.core);
  std::vector<Ring> rings;
  for (int k = 0; k < 32; ++k) {
    Ring ring;
    ring.frequency = 0.5 * (k + 0.5) / 32;
    const double t = truth.transfer(ring.frequency);
    const double q = ring.frequency / truth.cutoff;
    const double by_coherence =
        spectrum::expected_speckle_power(q, turbulence * std::pow(turbulence / 2.8, 0.35));
    const double by_cells =
        t * t + (1 - t * t) / (6.3 * std::pow(q, -1.45) * std::sqrt(1 - truth.core));
    const double power = std::pow(by_coherence, 0.7) * std::pow(by_cells, 0.3);
    const double telescope = finish::telescope_transfer(ring.frequency / truth.cutoff);
    ring.frame_power = 1e3 * std::pow(ring.frequency, -3) * telescope * telescope;
    ring.kept_power = brightness * brightness * ring.frame_power * t * t / power;
    ring.mean_power = ring.frame_power * spectrum::expected_coherence(q, turbulence);
    ring.frame_noise = noise;
    rings.push_back(ring);
  }
  return rings;
}

Blur expected(double core, double cutoff) { return {core, (0.18 + 0.48 * core) * cutoff, cutoff}; }

}  // namespace

TEST_SUITE("finish/blur") {
  TEST_CASE("the core is found again, at any brightness") {
    for (const double core : {0.1, 0.3, 0.6, 0.95}) {
      const Blur truth = expected(core, 0.3 / 0.9);
      for (const double brightness : {1.0, 1.1}) {
        const Blur found = finish::blur_of_stack(rings_for(truth, brightness, 1), 0.3);
        CHECK(found.core == doctest::Approx(core).epsilon(0.05));
      }
    }
  }

  TEST_CASE("a cutoff far beyond what noise lets the halves resolve is found again") {
    for (const double core : {0.15, 0.3}) {
      const Blur truth = expected(core, 0.36);
      const Blur found = finish::blur_of_stack(rings_for(truth, 1, 1), 0.2);
      CAPTURE(core);
      CAPTURE(found.core);
      CAPTURE(found.cutoff);
      CHECK(std::abs(found.cutoff - 0.36) < 0.04);  // the prior alone gives 0.22
      CHECK(std::abs(found.core - core) < 0.06);
    }
  }

  TEST_CASE("an independent deviance draws the halo to its minimum") {
    const auto rings = rings_for(expected(0.3, 0.33), 1, 1);
    const auto pointing = [](double share) {
      return [share](double, double halo) { return std::pow(std::log(halo / share) / 0.05, 2); };
    };
    const Blur narrow = finish::blur_of_stack(rings, 0.3, pointing(0.26));
    const Blur wide = finish::blur_of_stack(rings, 0.3, pointing(0.4));
    CHECK(narrow.halo / narrow.cutoff == doctest::Approx(0.26).epsilon(0.1));
    CHECK(wide.halo / wide.cutoff == doctest::Approx(0.4).epsilon(0.1));
  }

  TEST_CASE("frames of the capture count as much as the kept ones, where they were compared") {
    const Blur truth = expected(0.3, 0.33);
    auto rings = rings_for(truth, 1, 1);
    const Blur by_kept = finish::blur_of_stack(rings, 0.3);
    CHECK(finish::blur_of_field(rings, 0.3).core == by_kept.core);
    // They seem to share all: the stack holds all that they show, so its core by them is near 1.
    for (Ring& ring : rings) {
      ring.capture_power = ring.capture_mean_power = ring.kept_power;
      ring.capture_noise = ring.frame_noise;
    }
    const double by_both = finish::blur_of_field(rings, 0.3).core;
    CHECK(by_both == doctest::Approx(std::sqrt(by_kept.core)).epsilon(0.1));
  }

  TEST_CASE("equal frames need no restoration") {
    auto rings = rings_for(expected(0.5, 0.3 / 0.9), 1, 1);
    for (Ring& ring : rings) ring.kept_power = ring.mean_power = ring.frame_power;
    CHECK(finish::blur_of_stack(rings, 0.3).core > 0.95);  // the error of the ratio is 0.064
  }

  TEST_CASE("where noise hides the frames, coarse rings decide alone, and without any the prior") {
    const auto noisy =
        rings_for(expected(0.2, 0.3 / 0.9), 1, 1e6);  // above the frames' power from 0.1 on
    CHECK(finish::blur_of_stack(noisy, 0.3).core == doctest::Approx(0.2).epsilon(0.15));
    CHECK(finish::blur_of_stack({}, 0.3).core == doctest::Approx(0.35));
    CHECK(finish::blur_of_stack(rings_for(expected(0.2, 0.3 / 0.9), 1, 1e12), 0.3).core ==
          doctest::Approx(0.35));
  }

  TEST_CASE("rings that hold no bin, as in frames of 32 px, do not decide") {
    auto rings = rings_for(expected(0.2, 0.3 / 0.9), 1, 1);
    for (std::size_t k = 1; k < rings.size(); k += 2) rings[k] = {rings[k].frequency, 0, 0, 0};
    CHECK(finish::blur_of_stack(rings, 0.3).core == doctest::Approx(0.2).epsilon(0.05));
  }

  TEST_CASE("without a core it is the transfer function of a long exposure: Fried 1966") {
    // exp(-3.44 x^1.5), x = f / h; at x = 1 the power, where ours differs, does not count.
    const Blur blur{0, 1, 1};
    CHECK(blur.transfer(1) == doctest::Approx(std::exp(-3.44)));
    CHECK(blur.transfer(0.5) == doctest::Approx(std::exp(-3.44 * std::pow(0.5, 1.5))));
    CHECK(blur.transfer(0) == 1);
  }
}
