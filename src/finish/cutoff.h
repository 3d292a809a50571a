#pragma once

#include <vector>

#include "stack/spectral_ratio.h"

namespace lull::finish {

/// A cutoff of the optics and how much speaks against it.
struct CutoffChoice {
  double cutoff = 0;   ///< cycles/px
  double against = 0;  ///< minus twice the log of its likelihood, up to a constant
};

/// Cutoffs that the stack allows, rising. A telescope passes less and less towards its cutoff, so
/// the power of the stack falls the more steeply the nearer the cutoff is; noise, which ends the
/// resolution of a faint stack, does not bend it. The power is taken for A f^-b T(f / cutoff)^2, T
/// being the telescope's transfer: within 5% of the truth where there is light (bench/README.md).
/// Where there is none, what is usual decides: 0.33 cycles/px.
/// @param resolution  of the stack, cycles/px, > 0.
[[nodiscard]] std::vector<CutoffChoice> cutoff_choices(
    const std::vector<stack::SpectralRatio::Ring>& rings, double resolution);

}  // namespace lull::finish
