#pragma once

#include <vector>

#include "stack/spectral_ratio.h"

namespace lull::finish {

/// What the air has left of the amplitude of a stack, by frequency: a core that registration saved
/// and a halo of what it could not save. s + (1 - s) exp(-3.44 (f / h)^(5/3)), the exponential
/// being the long-exposure transfer function (Fried 1966, J. Opt. Soc. Am. 56, 1372), with
/// h = 0.26 + 0.3 s of the cutoff of the optics, which fits the captures of known truth
/// (bench/README.md).
struct Blur {
  double core = 1;    ///< s: 1 = the air did nothing
  double cutoff = 0;  ///< of the optics, cycles/px

  [[nodiscard]] double transfer(double frequency) const;
};

/// The blur of a stack from the ratio of its power to that of its frames. A frame's transfer is a
/// mean, which the stack keeps, and a scatter, which it averages away; over N independent cells
/// of the aperture the power of the scatter is (1 - t^2) / N of that of the telescope (after Korff
/// 1973, J. Opt. Soc. Am. 63, 971, whose speckle transfer function this is in the limit of strong
/// turbulence). So the ratio is t^2 / (t^2 + (1 - t^2) / N). N = 2.8 (f / cutoff)^-1.7 fits
/// captures of known truth at every D/r0 (bench/README.md). Core and cutoff are fitted together:
/// the resolution is 0.9 of the cutoff where there is light, but far below it in faint captures.
/// @param resolution  of the stack, cycles/px.
[[nodiscard]] Blur blur_of_stack(const std::vector<stack::SpectralRatio::Ring>& ratio,
                                 double resolution);

}  // namespace lull::finish
