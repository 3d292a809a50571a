#pragma once

#include <optional>
#include <vector>

#include "core/plane.h"
#include "finish/blur_model.h"
#include "spectrum/frc.h"
#include "spectrum/radial_filter.h"

namespace lull::merge {

/// What is known of the sharpness of a stack. Frequencies in cycles per pixel of its own.
struct Sharpness {
  std::optional<finish::Blur> air;              ///< none: was not measured
  std::vector<spectrum::FilterPoint> sampling;  ///< left by it of the amplitude; empty = all
  spectrum::FrcCurve frc;
};

/// Gains that bring one stack to the blur of another, by what air and sampling have left in both.
/// Detail is weakened in full, and raised only as far as the half stacks agree on it: gain = 1 +
/// C^2 (ratio - 1), C^2 being their squared correlation with the truth. Raised 4-fold at most.
/// @param scale  px of `from` for one of `to`, on whose grid the gains apply.
/// @return empty where the blur of either is not known.
[[nodiscard]] std::vector<spectrum::FilterPoint> gains_to(const Sharpness& to,
                                                          const Sharpness& from, double scale);

/// A picture through gains. Beyond its edges it goes on smoothly. Empty gains leave it unchanged.
[[nodiscard]] Plane through(PlaneView picture, const std::vector<spectrum::FilterPoint>& gains);

}  // namespace lull::merge
