#include "stack/frequency_fusion.h"

#include <algorithm>
#include <utility>

#include "stack/fusion_correction.h"
#include "stack/fusion_kernels.h"

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
  patches_.for_each(batch, frames, [this](std::size_t patch) {
    return [this, patch, bins = shrinkage_by_bin(patch)](const FusionPatches::Workspace& work,
                                                         float weight, Half half) {
      add_frame(work, bins, weight, sums_[patch][static_cast<std::size_t>(half)]);
    };
  });
}

FrequencyFusion::ShrinkageByBin FrequencyFusion::shrinkage_by_bin(std::size_t patch) const {
  ShrinkageByBin out;
  out.mean.reserve(patches_.bins());
  out.share.reserve(patches_.bins());
  for (std::size_t i = 0; i < patches_.bins(); ++i) {
    const TransferShrinkage& shrinkage = shrinkage_[patch][patches_.ring(i)];
    out.mean.push_back(shrinkage.mean);
    out.share.push_back(shrinkage.share);
  }
  return out;
}

void FrequencyFusion::add_frame(const FusionPatches::Workspace& work, const ShrinkageByBin& bins,
                                float weight, FusionSums& sums) {
  kernels::add_fused()(spectrum::reals(work.frame.row(0)), spectrum::reals(work.transfer.row(0)),
                       bins.mean.data(), bins.share.data(), weight,
                       static_cast<int>(sums.power.size()), spectrum::reals(sums.light.data()),
                       sums.power.data());
}

FusionCorrection FrequencyFusion::correction(PlaneView first_half, PlaneView second_half) const {
  return {patches_, sums_, first_half, second_half};
}

}  // namespace lull::stack
