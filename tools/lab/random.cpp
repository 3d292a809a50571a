#include "lab/random.h"

#include <bit>
#include <cmath>
#include <numbers>

namespace lull::lab {

namespace {

std::uint64_t splitmix(std::uint64_t& state) {
  state += 0x9e3779b97f4a7c15U;
  std::uint64_t z = state;
  z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9U;
  z = (z ^ (z >> 27U)) * 0x94d049bb133111ebU;
  return z ^ (z >> 31U);
}

double poisson_by_products(double mean, Random& random) {
  const double limit = std::exp(-mean);
  double product = random.uniform();
  double count = 0;
  while (product > limit) {
    product *= random.uniform();
    ++count;
  }
  return count;
}

// Letters as in the paper's algorithm PTRS.
double poisson_by_rejection(double mean, Random& random) {
  const double log_mean = std::log(mean);
  const double b = 0.931 + 2.53 * std::sqrt(mean);
  const double a = -0.059 + 0.02483 * b;
  const double inverse_alpha = 1.1239 + 1.1328 / (b - 3.4);
  const double v_r = 0.9277 - 3.6224 / (b - 2);
  while (true) {
    const double u = random.uniform() - 0.5;
    const double v = random.uniform();
    const double us = 0.5 - std::abs(u);
    const double k = std::floor((2 * a / us + b) * u + mean + 0.43);
    if (us >= 0.07 && v <= v_r) return k;
    if (k < 0 || (us < 0.013 && v > us)) continue;
    if (std::log(v * inverse_alpha / (a / (us * us) + b)) <=
        k * log_mean - mean - std::lgamma(k + 1)) {
      return k;
    }
  }
}

}  // namespace

Random::Random(std::initializer_list<std::uint64_t> key) {
  std::uint64_t mixed = 0;
  for (const std::uint64_t part : key) {
    mixed ^= part;
    mixed = splitmix(mixed);
  }
  for (std::uint64_t& word : state_) word = splitmix(mixed);
}

std::uint64_t Random::bits() {
  const std::uint64_t result = std::rotl(state_[0] + state_[3], 23) + state_[0];
  const std::uint64_t t = state_[1] << 17U;
  state_[2] ^= state_[0];
  state_[3] ^= state_[1];
  state_[1] ^= state_[2];
  state_[0] ^= state_[3];
  state_[2] ^= t;
  state_[3] = std::rotl(state_[3], 45);
  return result;
}

double Random::uniform() { return (static_cast<double>(bits() >> 11U) + 0.5) * 0x1p-53; }

double Random::normal() {
  if (spare_) {
    const double value = *spare_;
    spare_.reset();
    return value;
  }
  const double radius = std::sqrt(-2 * std::log(uniform()));
  const double angle = 2 * std::numbers::pi * uniform();
  spare_ = radius * std::sin(angle);
  return radius * std::cos(angle);
}

double Random::poisson(double mean) {
  if (!(mean > 0)) return 0;
  return mean < 10 ? poisson_by_products(mean, *this) : poisson_by_rejection(mean, *this);
}

}  // namespace lull::lab
