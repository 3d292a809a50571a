#include "merge/match_blur.h"

#include <algorithm>
#include <utility>

#include "finish/strength.h"
#include "spectrum/continuation.h"

namespace lull::merge {

namespace {

constexpr double kMostGain = 4;
constexpr double kLeastTransfer = 0.02;
constexpr int kPoints = 100;
constexpr double kHighest = 0.71;  // cycles/px, in the corner of a spectrum

double transfer_of(const Sharpness& stack, double frequency) {
  const double sampling = stack.sampling.empty() ? 1 : spectrum::gain_at(stack.sampling, frequency);
  return std::max(stack.air->transfer(frequency) * sampling, kLeastTransfer);
}

}  // namespace

std::vector<spectrum::FilterPoint> gains_to(const Sharpness& to, const Sharpness& from,
                                            double scale) {
  if (!to.air || !from.air) return {};
  const std::vector<spectrum::FilterPoint> certain = finish::wiener_weight(from.frc);
  std::vector<spectrum::FilterPoint> gains;
  for (int i = 0; i <= kPoints; ++i) {
    const double frequency = kHighest * i / kPoints;
    const double own = frequency / scale;
    const double ratio = std::min(transfer_of(to, frequency) / transfer_of(from, own), kMostGain);
    const double share = ratio > 1 ? spectrum::gain_at(certain, own) : 1;
    gains.push_back({frequency, 1 + share * (ratio - 1)});
  }
  return gains;
}

Plane through(PlaneView picture, const std::vector<spectrum::FilterPoint>& gains) {
  if (gains.empty()) return Plane::copy_of(picture);
  spectrum::Extended large = spectrum::continued(picture);
  spectrum::filter(large.plane, gains);
  return Plane::copy_of(std::as_const(large.plane).view().crop(large.inside));
}

}  // namespace lull::merge
