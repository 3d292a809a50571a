#pragma once

#include <optional>

#include "align/patch_correlator.h"
#include "core/outcome.h"

namespace lull::align {

struct FindShiftOptions {
  double least_peak = 3.6;      ///< correlation peak over the rms of its surroundings
  double longest_share = 0.25;  ///< of a side: longer shifts are not looked for
};

/// Memory for one thread; sizes adapt to the patches.
struct FindShiftWorkspace {
  std::optional<PatchCorrelator> correlator;
  spectrum::Spectrum reference;
  spectrum::Spectrum frame;
};

/// Shift between two patches of the same scene with independent white noise.
///
/// Coarse: phase correlation weighted by signal-to-noise (PatchCorrelator). Fine: weighted least
/// squares on the gradients of both patches, lightly smoothed (Lucas & Kanade 1981), iterated, with
/// the mean difference subtracted.
///
/// @param reference,frame linear light, equal sizes, at least 16 px a side.
/// @return Shift of the frame;
///  Reject::no_structure when there is nothing but noise in the reference; Reject::weak_peak
/// when the peak is too low. Safe to call in parallel with distinct workspaces. O(N log N).
[[nodiscard]] Outcome<Shift> find_shift(PlaneView reference, PlaneView frame,
                                        const FindShiftOptions& options,
                                        FindShiftWorkspace& workspace);

}  // namespace lull::align
