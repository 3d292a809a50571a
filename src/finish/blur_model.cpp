#include "finish/blur_model.h"

#include <cmath>

namespace lull::finish {

namespace {

constexpr double kHaloPower = 1.5;

}  // namespace

double Blur::transfer(double frequency) const {
  return core + (1 - core) * std::exp(-3.44 * std::pow(frequency / halo, kHaloPower));
}

}  // namespace lull::finish
