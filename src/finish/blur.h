#pragma once

#include <functional>
#include <vector>

#include "finish/blur_model.h"
#include "spectrum/ratio_ring.h"

namespace lull::finish {

/// Deviance of a blur: minus twice the logarithm of its likelihood, up to a constant.
/// @param core,halo_share  s, and h over the cutoff.
using Deviance = std::function<double(double core, double halo_share)>;

/// The blur of a stack from the ratio of its power to that of its frames. The power of the frames
/// is that of the object times <|S|^2>, their mean squared transfer (Labeyrie 1970, Astron.
/// Astrophys. 6, 85), which follows from D / r0 (Korff 1973; spectrum/coherence.h). So the ratio is
/// t^2 over it, with t the transfer of the stack. D / r0 follows from how far the frames agree
/// (von der Luehe 1984, J. Opt. Soc. Am. A 1, 510). Choice of frames and several directions in a
/// patch change it to D / r0 (D / r0 / 2.8)^0.35, within 10%, on captures of known truth; these
/// show h = 0.18 + 0.48 s of the cutoff, too, within 20% (bench/DECISIONS.md). Core, halo and
/// cutoff are the means of their logarithms over all that this, the power of the stack (PowerLaw)
/// and `other` allow.
/// @param resolution  of the stack, cycles/px.
/// @param other       of an independent measurement, such as DarkSky::deviance(); may be empty.
[[nodiscard]] Blur blur_of_stack(const std::vector<spectrum::RatioRing>& ratio, double resolution,
                                 const Deviance& other = {});

}  // namespace lull::finish
