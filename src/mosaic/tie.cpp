#include "mosaic/tie.h"

#include <cmath>
#include <utility>

#include "core/statistics.h"

namespace lull::mosaic {

namespace {

constexpr double kDoubtful = 2.4;

}  // namespace

double trust(double off, double spread) {
  const double relative = off / (kDoubtful * spread);
  return 1 / (1 + relative * relative);
}

void Gaps::add(Displacement gap, const Information& weight) {
  chis_.push_back(std::sqrt(std::max(weight.chi2(gap), 0.0)));
  weights_.push_back(weight.mean());
}

void Gaps::judge(double least_spread) {
  // Of a plane that is Gaussian but for some far off: the square of the median is ln 2 of the mean
  // square.
  const double spread = std::max(median(chis_) / std::sqrt(std::log(2.0)), least_spread);
  double squares = 0;
  double weights = 0;
  trusted.clear();
  for (std::size_t i = 0; i < chis_.size(); ++i) {
    trusted.push_back(trust(chis_[i], spread));
    squares += trusted.back() * chis_[i] * chis_[i];
    weights += trusted.back() * weights_[i];
  }
  rms_px = weights > 0 ? std::sqrt(squares / weights) : 0;
}

}  // namespace lull::mosaic
