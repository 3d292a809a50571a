#pragma once

#include "core/plane.h"
#include "spectrum/frc.h"

namespace lull::finish {

/// Noise of a picture without half stacks.
struct OwnNoise {
  double sigma = 0;  ///< of white noise
  /// The correlation that two halves of it would have: with C^2 = (P - N) / P the squared
  /// correlation of the picture with the truth, F = C^2 / (2 - C^2) (Rosenthal & Henderson 2003).
  spectrum::FrcCurve frc;
};

/// Takes noise as white, and its power N for the least power P of a ring beyond 0.375 cycles/px,
/// where an oversampled picture holds little else; what is sampled more coarsely seems noisier
/// than it is, and is restored less. @param picture  at least 16 px a side.
[[nodiscard]] OwnNoise noise_of_picture(PlaneView picture);

}  // namespace lull::finish
