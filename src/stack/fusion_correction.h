#pragma once

#include <vector>

#include "stack/fusion_patches.h"
#include "stack/fusion_sums.h"

namespace lull::stack {

/// What FrequencyFusion changes of the classic stack of the same frames. Valid as long as the
/// fusion, and until it adds frames.
class FusionCorrection {
 public:
  /// By FrequencyFusion::correction(). All but the halves outlive this.
  FusionCorrection(const FusionPatches& patches, const FusionSumsOfHalves& sums,
                   PlaneView first_half, PlaneView second_half);

  /// The classic stack of all frames, corrected.
  [[nodiscard]] Plane corrected(PlaneView stack) const;

  /// That of one half of the frames, corrected by the same half.
  [[nodiscard]] Plane half_corrected(PlaneView half_stack, Half half) const;

 private:
  /// Sums over a ring, of spectra C of the classic stack and F of the fused one: each half of one
  /// against the other half of the other, so that noise does not count.
  struct RingPowers {
    double cross = 0;  ///< Re C F*, of different halves
    double own = 0;    ///< Re F F*, of different halves
    double whole = 0;  ///< |F|^2
  };

  [[nodiscard]] std::vector<RingPowers> powers_in(std::size_t patch, PlaneView first_half,
                                                  PlaneView second_half) const;
  [[nodiscard]] Plane change_in(std::size_t patch, PlaneView stack,
                                const std::vector<Half>& halves) const;
  [[nodiscard]] Plane corrected_by(PlaneView stack, const std::vector<Half>& halves) const;

  const FusionPatches& patches_;
  const FusionSumsOfHalves& sums_;
  std::vector<float> level_;  ///< factor of the amplitudes, by ring
};

}  // namespace lull::stack
