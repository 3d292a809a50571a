#include "globe/spread_limb.h"

#include <algorithm>
#include <cmath>

namespace lull::globe {

namespace {

constexpr double kStep_px = 0.25;
constexpr double kReach = 4;         // of the sigma
constexpr double kSamples = 4;       // in a sigma
constexpr double kWidest = 0.5;      // of the radius: further in the blur changes little
constexpr double kLeastSigma = 0.2;  // px

// Of the law, at a distance from the limb inwards.
double light_at(double inside_px, double radius_px, double darkening) {
  if (inside_px <= 0) return 0;
  const double across = 1 - std::min(inside_px / radius_px, 1.0);
  const double cosine = std::sqrt(1 - across * across);
  return minnaert(cosine, cosine, darkening);
}

double blurred_light(double inside_px, double radius_px, double darkening, double sigma_px) {
  const double sigma = std::max(sigma_px, kLeastSigma);
  const int reach = static_cast<int>(kReach * kSamples);
  double sum = 0;
  double weights = 0;
  for (int i = -reach; i <= reach; ++i) {
    const double at = i / kSamples;
    const double weight = std::exp(-0.5 * at * at);
    sum += weight * light_at(inside_px + at * sigma, radius_px, darkening);
    weights += weight;
  }
  return sum / weights;
}

}  // namespace

SpreadLimb::SpreadLimb(double radius_px, double darkening, const LightSpread& spread)
    : radius_px_(radius_px) {
  const double share = std::clamp(spread.halo_share, 0.0, 1.0);
  for (double inside_px = 0; inside_px < kWidest * radius_px + kStep_px; inside_px += kStep_px) {
    const double at = std::max(inside_px, 0.5 * kStep_px);
    left_.push_back(((1 - share) * blurred_light(at, radius_px, darkening, spread.core_px) +
                     share * blurred_light(at, radius_px, darkening, spread.halo_px())) /
                    light_at(at, radius_px, darkening));
  }
}

double SpreadLimb::left(double cos_observer) const {
  const double across = std::sqrt(std::max(0.0, 1 - cos_observer * cos_observer));
  const double at =
      std::min(radius_px_ * (1 - across) / kStep_px, static_cast<double>(left_.size() - 1) - 1e-9);
  const auto i = static_cast<std::size_t>(at);
  const double part = at - static_cast<double>(i);
  return (1 - part) * left_[i] + part * left_[i + 1];
}

}  // namespace lull::globe
