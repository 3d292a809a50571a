#include "mosaic/tie.h"

#include <cmath>
#include <utility>

#include "core/statistics.h"

namespace lull::mosaic {

namespace {

constexpr double kDoubtful = 2.4;

}  // namespace

double robust_rms(std::vector<double> lengths) {
  return median(std::move(lengths)) * std::sqrt(1 / std::log(2.0));
}

double trust(double off, double spread) {
  const double relative = off / (kDoubtful * spread);
  return 1 / (1 + relative * relative);
}

}  // namespace lull::mosaic
