#include "finish/blur_model.h"

#include <cmath>

namespace lull::finish {

namespace {

constexpr double kHaloPower = 1.5;

}  // namespace

double halo_transfer(double frequency, double halo) {
  return std::exp(-3.44 * std::pow(frequency / halo, kHaloPower));
}

}  // namespace lull::finish
