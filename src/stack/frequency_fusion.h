#pragma once

#include <vector>

#include "core/plane.h"
#include "stack/contribution.h"
#include "stack/fusion_patches.h"
#include "stack/fusion_sums.h"

namespace lull::stack {

/// How the transfer H of a frame is drawn towards its mean on a ring of frequencies:
/// mean + share (H - mean).
struct TransferShrinkage {
  float mean = 1;
  float share = 0;
};

class FusionCorrection;

/// Combines frames frequency by frequency, each weighted by its transfer there. In overlapping
/// patches of the registered frames, the transfer H of a frame relative to the reference is
/// estimated (see FusionPatches). Frames are then summed by the matched filter,
///     sum q H* F / sum q |H|^2:
/// amplitude, phase and residual shift of each frame are allowed for, so that frames contribute at
/// the frequencies at which they are good (after Garrel, Guyon & Baudoz 2012, Publ. Astron. Soc.
/// Pacific 124, 861, who select by amplitude; multi-frame restoration with estimated transfer
/// functions is Schulz 1993, J. Opt. Soc. Am. A 10, 1064). q is the sharpness weight of the patch,
/// its 0.7th power.
///
/// The reference's frames are used to validate H: on rings of frequency, H is drawn towards its
/// mean by the factor with which the neighbours do predict F (FusionLearner). The result is a
/// correction of the classic stack, which vanishes where the frames are equal.
class FrequencyFusion {
 public:
  /// By FusionLearner::finish(). @param shrinkage  patch, ring.
  FrequencyFusion(FusionPatches patches, std::vector<std::vector<TransferShrinkage>> shrinkage);

  /// Memory that a picture of this size takes.
  [[nodiscard]] static std::size_t bytes(Size size) { return FusionPatches::bytes(size); }

  /// Neither too small for a patch nor too large for any memory: up to 3840 x 2160 px. It follows
  /// from the size alone, so that the memory given decides nothing about the result.
  [[nodiscard]] static bool fits(Size size);

  /// Adds frames, in the order given; patches run in parallel, so any number of threads gives the
  /// same sums. @param frames  of this batch, warped; they are completed.
  void add(std::vector<Contribution>& batch, WarpedFrames& frames);

  /// The correction of the classic stack of the frames added until now. Its amplitudes are matched
  /// to those of the classic stack, ring by ring, so that the known blur of that holds for the
  /// fused one. @param first_half, second_half of the classic stack of the same frames.
  [[nodiscard]] FusionCorrection correction(PlaneView first_half, PlaneView second_half) const;

 private:
  /// The shrinkage of each bin of a patch.
  struct ShrinkageByBin {
    std::vector<float> mean;
    std::vector<float> share;
  };

  [[nodiscard]] ShrinkageByBin shrinkage_by_bin(std::size_t patch) const;
  static void add_frame(const FusionPatches::Workspace& work, const ShrinkageByBin& bins,
                        float weight, FusionSums& sums);

  FusionPatches patches_;
  std::vector<std::vector<TransferShrinkage>> shrinkage_;
  FusionSumsOfHalves sums_;
};

}  // namespace lull::stack
