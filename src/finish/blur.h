#pragma once

#include <functional>
#include <vector>

#include "finish/blur_model.h"
#include "spectrum/ratio_ring.h"

namespace lull::finish {

/// Deviance of a blur: minus twice the logarithm of its likelihood, up to a constant.
/// @param core,halo_share  s, and h over the cutoff.
using Deviance = std::function<double(double core, double halo_share)>;

/// The blur of a stack from the ratio of its power to that of its frames. A frame's transfer is a
/// mean, which the stack keeps, and a scatter, which it averages away; over N independent cells
/// of the aperture the power of the scatter is (1 - t^2) / N of that of the telescope (after Korff
/// 1973, J. Opt. Soc. Am. 63, 971, whose speckle transfer function this is in the limit of strong
/// turbulence). So the ratio is t^2 / (t^2 + (1 - t^2) / N). N = 6.3 (f / cutoff)^-1.45 (1 - s)^0.5
/// fits captures of known truth, the better air leaving fewer cells; so does h = 0.18 + 0.48 s of
/// the cutoff, within 20% (bench/DECISIONS.md). Core, halo and cutoff are the means of their
/// logarithms over all that this, the power of the stack (PowerLaw) and `other` allow.
/// @param resolution  of the stack, cycles/px.
/// @param other       of an independent measurement, such as DarkSky::deviance(); may be empty.
[[nodiscard]] Blur blur_of_stack(const std::vector<spectrum::RatioRing>& ratio, double resolution,
                                 const Deviance& other = {});

}  // namespace lull::finish
