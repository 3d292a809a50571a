#include "finish/telescope.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull::finish {

namespace {

using std::numbers::pi;

constexpr double kTypicalObstruction = 0.3;

// Area that two discs of radius 1/2, x apart, share; over pi / 4.
double overlap(double x) {
  x = std::clamp(x, 0.0, 1.0);
  return 2 / pi * (std::acos(x) - x * std::sqrt(1 - x * x));
}

// The same of a disc of diameter 1 and one of diameter d < 1, x apart.
double overlap(double x, double d) {
  if (x <= (1 - d) / 2) return d * d;
  if (x >= (1 + d) / 2) return 0;
  const double large = std::acos(std::clamp((x * x + (1 - d * d) / 4) / x, -1.0, 1.0));
  const double small = std::acos(std::clamp((x * x - (1 - d * d) / 4) / (x * d), -1.0, 1.0));
  return (large - std::sin(2 * large) / 2 + d * d * (small - std::sin(2 * small) / 2)) / pi;
}

}  // namespace

double telescope_transfer(double share_of_cutoff, double obstruction) {
  const double d = obstruction;
  const double x = share_of_cutoff;
  const double hole = d > 0 ? d * d * overlap(x / d) : 0;
  return (overlap(x) - 2 * overlap(x, d) + hole) / (1 - d * d);
}

double telescope_transfer(double share_of_cutoff) {
  return telescope_transfer(share_of_cutoff, kTypicalObstruction);
}

}  // namespace lull::finish
