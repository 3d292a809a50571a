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
// @param share  of the coherence in the logarithm of the power.
// @param agreement  D / r0 by which the frames agree, over that of their power.
std::vector<Ring> rings_for(const Blur& truth, double brightness, double noise, double share = 0.7,
                            double agreement = 1) {
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
    const double power = std::pow(by_coherence, share) * std::pow(by_cells, 1 - share);
    const double telescope = finish::telescope_transfer(ring.frequency / truth.cutoff);
    ring.frame_power = 1e3 * std::pow(ring.frequency, -3) * telescope * telescope;
    ring.kept_power = brightness * brightness * ring.frame_power * t * t / power;
    ring.mean_power = ring.frame_power * spectrum::expected_coherence(q, agreement * turbulence);
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

  TEST_CASE("of a disc the core is found again, where the sky is certain of the halo") {
    for (const double core : {0.1, 0.3, 0.6}) {
      const double share = 0.28 + 0.48 * core;
      const Blur truth{core, share / 3, 1.0 / 3};
      const Blur found = finish::blur_of_disc(
          rings_for(truth, 1, 1, 0.3), 0.3,
          [share](double, double halo) { return std::pow(std::log(halo / share) / 0.05, 2); });
      CAPTURE(core);
      CHECK(found.core == doctest::Approx(core).epsilon(0.07));
      CHECK(found.halo / found.cutoff == doctest::Approx(share).epsilon(0.05));
    }
  }

  TEST_CASE("where sharp frames agree more than their power says, a disc is hardly misled") {
    const Blur truth{0.2, 0.376 / 3, 1.0 / 3};
    const auto rings = rings_for(truth, 1, 1, 0.3, 0.7);
    const auto sky = [](double, double halo) { return std::pow(std::log(halo / 0.376) / 0.05, 2); };
    const double as_any_scene = finish::blur_of_stack(rings, 0.3).core;
    const double as_disc = finish::blur_of_disc(rings, 0.3, sky).core;
    CAPTURE(as_any_scene);
    CAPTURE(as_disc);
    CHECK(std::log(as_disc / truth.core) < 0.7 * std::log(as_any_scene / truth.core));
    CHECK(as_disc > truth.core);
  }

  TEST_CASE(
      "the sky draws the halo of a disc to its minimum, against the ratio and what is usual") {
    const auto rings = rings_for(expected(0.3, 0.33), 1, 1, 0.3);
    const auto halo_for = [&](double share) {
      const Blur found = finish::blur_of_disc(rings, 0.3, [share](double, double halo) {
        return std::pow(std::log(halo / share) / 0.1, 2);
      });
      return found.halo / found.cutoff;
    };
    CHECK(halo_for(0.26) < 0.3);
    CHECK(halo_for(0.6) > 0.48);
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
