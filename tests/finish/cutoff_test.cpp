#include "finish/cutoff.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <random>

#include "finish/telescope.h"

using namespace lull;

namespace {

using Ring = stack::SpectralRatio::Ring;

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

double best_of(const std::vector<finish::CutoffChoice>& choices) {
  return std::min_element(choices.begin(), choices.end(),
                          [](const auto& a, const auto& b) { return a.against < b.against; })
      ->cutoff;
}

}  // namespace

TEST_SUITE("finish/cutoff") {
  TEST_CASE("the cutoff is found, however steep the object's spectrum and however sampled") {
    for (const double cutoff : {0.2, 0.33, 0.45}) {
      for (const double steepness : {1.5, 2.5, 4.0}) {
        CAPTURE(cutoff);
        CAPTURE(steepness);
        const auto rings = stack_of(cutoff, steepness, 1e-3, 3);
        CHECK(best_of(finish::cutoff_choices(rings, 0.85 * cutoff)) ==
              doctest::Approx(cutoff).epsilon(0.08));
      }
    }
  }

  TEST_CASE("where noise ends the resolution, it is not taken for the cutoff") {
    const auto rings = stack_of(0.36, 3, 0.3, 5);
    CHECK(best_of(finish::cutoff_choices(rings, 0.22)) == doctest::Approx(0.36).epsilon(0.15));
  }

  TEST_CASE("cutoffs rise from just above the resolution, at any sampling") {
    for (const double resolution : {0.01, 0.1, 0.3, 0.5, 0.7}) {
      const auto choices = finish::cutoff_choices(stack_of(0.3, 2, 0, 1), resolution);
      CHECK(choices.front().cutoff >= resolution);
      for (const auto& choice : choices) CHECK(std::isfinite(choice.against));
    }
  }
}
