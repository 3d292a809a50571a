#pragma once

#include <vector>

#include "stack/frequency_fusion.h"
#include "stack/fusion_patches.h"

namespace lull::stack {

/// Learns from the reference's frames how far the measured transfers of frames predict what the
/// frames show, which FrequencyFusion rests on: a cross-validation, as the mean over neighbouring
/// frequencies leaves the frequency itself out.
class FusionLearner {
 public:
  /// See FusionPatches.
  FusionLearner(PlaneView reference, const std::vector<std::vector<float>>& weights);

  /// Frames of the reference, as they are in it. @param frames  of this batch, warped; they are
  /// completed.
  void add(std::vector<Contribution>& batch, WarpedFrames& frames);

  /// After the last frame.
  [[nodiscard]] FrequencyFusion finish() &&;

 private:
  /// Sums over the frames on a ring of frequencies, of weight q, frame F, reference S, transfer H.
  struct RingSums {
    double predicted = 0;  ///< q Re F (H S)*
    double matched = 0;    ///< q Re F S*
    double common = 0;     ///< q Re H |S|^2
    double reference = 0;  ///< q |S|^2
    double power = 0;      ///< q |H S|^2
  };

  void add_frame(std::size_t patch, const FusionPatches::Workspace& work, float weight);
  [[nodiscard]] static std::vector<TransferShrinkage> shrinkage_of(
      const std::vector<RingSums>& sums);

  FusionPatches patches_;
  std::vector<std::vector<RingSums>> sums_;  ///< patch, ring
};

}  // namespace lull::stack
