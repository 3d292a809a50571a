#include "stack/fusion_learner.h"

#include <algorithm>
#include <complex>
#include <utility>

#include "stack/nearby_rings.h"

namespace lull::stack {

namespace {

constexpr double kLeastMean = 0.05;

}  // namespace

FusionLearner::FusionLearner(PlaneView reference, const std::vector<std::vector<float>>& weights)
    : patches_(reference, weights),
      sums_(patches_.count(), std::vector<RingSums>(patches_.rings())) {}

void FusionLearner::add(std::vector<Contribution>& batch, WarpedFrames& frames) {
  frames.complete(batch, patches_.picture());
  patches_.for_each(batch, frames, [this](std::size_t patch) {
    return [this, patch](const FusionPatches::Workspace& work, float weight, Half) {
      add_frame(patch, work, weight);
    };
  });
}

void FusionLearner::add_frame(std::size_t patch, const FusionPatches::Workspace& work,
                              float weight) {
  const std::complex<float>* f = work.frame.row(0);
  const std::complex<float>* s = patches_.reference(patch).row(0);
  const std::complex<float>* h = work.transfer.row(0);
  for (std::size_t i = 0; i < patches_.bins(); ++i) {
    RingSums& sums = sums_[patch][patches_.ring(i)];
    const float q = weight * patches_.multiplicity(i);
    const float power = std::norm(s[i]);
    const std::complex<float> cross = f[i] * std::conj(s[i]);
    sums.predicted += static_cast<double>(q * (cross * std::conj(h[i])).real());
    sums.matched += static_cast<double>(q * cross.real());
    sums.common += static_cast<double>(q * h[i].real() * power);
    sums.reference += static_cast<double>(q * power);
    sums.power += static_cast<double>(q * std::norm(h[i]) * power);
  }
}

FrequencyFusion FusionLearner::finish() && {
  std::vector<std::vector<TransferShrinkage>> shrinkage;
  for (const std::vector<RingSums>& sums : sums_) shrinkage.push_back(shrinkage_of(sums));
  return {std::move(patches_), std::move(shrinkage)};
}

// The factor with which the deviation of H from its mean does predict the deviation of the frames,
// by least squares.
std::vector<TransferShrinkage> FusionLearner::shrinkage_of(const std::vector<RingSums>& sums) {
  std::vector<TransferShrinkage> out(sums.size());
  for (std::size_t k = 0; k < sums.size(); ++k) {
    const auto sum = [&](double RingSums::*what) {
      return sum_nearby(k, sums.size(), [&](std::size_t ring) { return sums[ring].*what; });
    };
    const double reference = sum(&RingSums::reference);
    if (!(reference > 0)) continue;
    const double common = sum(&RingSums::common);
    const double mean = std::clamp(common / reference, kLeastMean, 1.0);
    const double predicted = sum(&RingSums::predicted) - mean * sum(&RingSums::matched) -
                             mean * common + mean * mean * reference;
    const double power = sum(&RingSums::power) - 2 * mean * common + mean * mean * reference;
    out[k] = {static_cast<float>(mean),
              power > 0 ? static_cast<float>(std::clamp(predicted / power, 0.0, 1.0)) : 0};
  }
  return out;
}

}  // namespace lull::stack
