#include "finish/power_law.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <limits>
#include <random>
#include <vector>

#include "finish/telescope.h"

using namespace lull;

namespace {

using Ring = spectrum::RatioRing;

// Power of a stack whose object falls as a power of the frequency, with noise left in it.
std::vector<Ring> stack_of(double cutoff, double steepness, double noise, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal;
  std::vector<Ring> rings(32);
  for (std::size_t k = 0; k < rings.size(); ++k) {
    rings[k].frequency = 0.5 * (static_cast<double>(k) + 0.5) / 32;
    const double t = finish::telescope_transfer(rings[k].frequency / cutoff);
    rings[k].kept_power = t * t * std::pow(rings[k].frequency, -steepness) + noise * normal(random);
  }
  return rings;
}

double deviance(const finish::PowerLaw& power, const finish::Blur& blur) {
  return power.deviance(blur, power.passed_by_telescope(blur.cutoff),
                        power.passed_by_halo(blur.halo));
}

// The most likely cutoff where the air has done nothing.
double best_cutoff(const std::vector<Ring>& rings, double resolution) {
  const finish::PowerLaw power(rings, resolution);
  double best = 0;
  double least = std::numeric_limits<double>::infinity();
  for (const double cutoff : power.cutoffs()) {
    const double speaks = deviance(power, {1, cutoff, cutoff});
    if (speaks < least) {
      least = speaks;
      best = cutoff;
    }
  }
  return best;
}

}  // namespace

TEST_SUITE("finish/power_law") {
  TEST_CASE("the cutoff is found, however steep the object's spectrum and however sampled") {
    for (const double cutoff : {0.2, 0.33, 0.45}) {
      for (const double steepness : {1.5, 2.5, 4.0}) {
        CAPTURE(cutoff);
        CAPTURE(steepness);
        const auto rings = stack_of(cutoff, steepness, 1e-3, 3);
        CHECK(best_cutoff(rings, 0.85 * cutoff) == doctest::Approx(cutoff).epsilon(0.08));
      }
    }
  }

  TEST_CASE("where noise ends the resolution, it is not taken for the cutoff") {
    const auto rings = stack_of(0.36, 3, 0.3, 5);
    CHECK(best_cutoff(rings, 0.22) == doctest::Approx(0.36).epsilon(0.15));
  }

  TEST_CASE("detail that goes on to the last pixel: the cutoff is looked for beyond") {
    auto rings = stack_of(0.8, 2.5, 1e-3, 3);
    CHECK(best_cutoff(rings, 0.49) == doctest::Approx(0.8).epsilon(0.15));
    // A smoothed mosaic gives no likelihood, so the prior decides.
    for (Ring& ring : rings) ring.smoothing = 0.9;
    CHECK(best_cutoff(rings, 0.49) <= 0.6);
  }

  TEST_CASE("the effect of the air on the power distinguishes one blur from another") {
    const finish::Blur truth{0.3, 0.13, 0.33};
    auto rings = stack_of(truth.cutoff, 2.5, 1e-4, 3);
    for (Ring& ring : rings) ring.kept_power *= std::pow(truth.transfer(ring.frequency), 2);
    const finish::PowerLaw power(rings, 0.3);
    CHECK(deviance(power, truth) < deviance(power, {0.9, 0.13, 0.33}));
    CHECK(deviance(power, truth) < deviance(power, {0.3, 0.25, 0.33}));
  }

  TEST_CASE("cutoffs rise from just above the resolution, at any sampling") {
    for (const double resolution : {0.01, 0.1, 0.3, 0.5, 0.7}) {
      const finish::PowerLaw power(stack_of(0.3, 2, 0, 1), resolution);
      double before = resolution;
      for (const double cutoff : power.cutoffs()) {
        CHECK(cutoff >= before);
        CHECK(std::isfinite(deviance(power, {0.3, 0.3 * cutoff, cutoff})));
        before = cutoff;
      }
    }
  }
}
