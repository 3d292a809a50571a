#include "stack/frequency_fusion.h"

#include <algorithm>
#include <complex>
#include <utility>

#include "stack/fusion_correction.h"

namespace lull::stack {

namespace {

constexpr int kLeastSide = 48;
constexpr std::size_t kMostBytes = std::size_t{640} << 20;

}  // namespace

bool FrequencyFusion::fits(Size size) {
  return std::min(size.width_px, size.height_px) >= kLeastSide && bytes(size) <= kMostBytes;
}

FrequencyFusion::FrequencyFusion(FusionPatches patches,
                                 std::vector<std::vector<TransferShrinkage>> shrinkage)
    : patches_(std::move(patches)), shrinkage_(std::move(shrinkage)), sums_(patches_.count()) {
  for (auto& halves : sums_) {
    for (FusionSums& half : halves) {
      half.light.assign(patches_.bins(), {});
      half.power.assign(patches_.bins(), 0.0F);
    }
  }
}

void FrequencyFusion::add(std::vector<Contribution>& batch, WarpedFrames& frames) {
  frames.complete(batch, patches_.picture());
  patches_.for_each(batch, frames,
                    [this](std::size_t patch, const FusionPatches::Workspace& work, float weight,
                           Half half) { add_frame(patch, work, weight, half); });
}

void FrequencyFusion::add_frame(std::size_t patch, const FusionPatches::Workspace& work,
                                float weight, Half half) {
  const std::complex<float>* f = work.frame.row(0);
  const std::complex<float>* h = work.transfer.row(0);
  FusionSums& sums = sums_[patch][static_cast<std::size_t>(half)];
  for (std::size_t i = 0; i < patches_.bins(); ++i) {
    const TransferShrinkage& shrinkage = shrinkage_[patch][patches_.ring(i)];
    const std::complex<float> transfer = shrinkage.mean + shrinkage.share * (h[i] - shrinkage.mean);
    sums.light[i] += weight * shrinkage.mean * std::conj(transfer) * f[i];
    sums.power[i] += weight * std::norm(transfer);
  }
}

FusionCorrection FrequencyFusion::correction(PlaneView first_half, PlaneView second_half) const {
  return {patches_, sums_, first_half, second_half};
}

}  // namespace lull::stack
