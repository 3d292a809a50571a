#pragma once

#include <functional>
#include <vector>

#include "spectrum/ratio_ring.h"

namespace lull::finish {

/// What the air has left of the amplitude of a stack, by frequency: a core that registration saved
/// and a halo of what it could not save. s + (1 - s) exp(-3.44 (f / h)^1.5). The exponential is the
/// long-exposure transfer function (Fried 1966, J. Opt. Soc. Am. 56, 1372) with a power of 1.5
/// instead of 5/3, as the stacked frames differ in their seeing: captures of known truth show 1.2
/// to 1.7 (bench/DECISIONS.md).
struct Blur {
  double core = 1;    ///< s: 1 = the air did nothing
  double halo = 1;    ///< h, cycles/px
  double cutoff = 0;  ///< of the optics, cycles/px

  [[nodiscard]] double transfer(double frequency) const;
};

/// What else speaks against a blur: minus twice the log of its likelihood, up to a constant.
/// @param core,halo_share  s, and h over the cutoff.
using Witness = std::function<double(double core, double halo_share)>;

/// The blur of a stack from the ratio of its power to that of its frames. A frame's transfer is a
/// mean, which the stack keeps, and a scatter, which it averages away; over N independent cells
/// of the aperture the power of the scatter is (1 - t^2) / N of that of the telescope (after Korff
/// 1973, J. Opt. Soc. Am. 63, 971, whose speckle transfer function this is in the limit of strong
/// turbulence). So the ratio is t^2 / (t^2 + (1 - t^2) / N). N = 6.3 (f / cutoff)^-1.45 (1 - s)^0.5
/// fits captures of known truth, the better air leaving fewer cells; so does h = 0.18 + 0.48 s of
/// the cutoff, within 20% (bench/DECISIONS.md). Core, halo and cutoff are the means of their
/// logarithms over all that this, the power of the stack (PowerLaw) and the witness allow.
/// @param resolution  of the stack, cycles/px.
[[nodiscard]] Blur blur_of_stack(const std::vector<spectrum::RatioRing>& ratio, double resolution,
                                 const Witness& witness = {});

}  // namespace lull::finish
