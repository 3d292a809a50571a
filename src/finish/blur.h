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
/// Astrophys. 6, 85), so the ratio is t^2 / <|S|^2>, with t the transfer of the stack. Two
/// estimates of <|S|^2> are combined, the logarithms weighted 0.7 and 0.3:
///
/// - D / r0 follows from how far the frames agree (von der Luehe 1984, J. Opt. Soc. Am. A 1, 510),
///   and <|S|^2> from it (Korff 1973, J. Opt. Soc. Am. 63, 971; spectrum/coherence.h). Choice of
///   frames, and several directions in a patch, change it to that of D / r0 (D / r0 / 2.8)^0.35.
/// - Over N independent cells of the aperture it is t^2 + (1 - t^2) / N.
///   N = 6.3 (f / cutoff)^-1.45 (1 - s)^0.5, the better air leaving fewer cells.
///
/// These laws fit captures of known truth, and so does h = 0.18 + 0.48 s of the cutoff, within 20%
/// (bench/DECISIONS.md). Core, halo and cutoff are the means of their logarithms over all that
/// this and the power of the stack (PowerLaw) allow.
/// @param resolution  of the stack, cycles/px.
[[nodiscard]] Blur blur_of_stack(const std::vector<spectrum::RatioRing>& ratio, double resolution);

/// The same where dark sky tells the halo. Few and sharp frames make most discs. In good and fair
/// air the law of the cells is right within 3% for them, and that of the coherence 5 to 60% too
/// high. So the logarithms are weighted 0.3 and 0.7; and h is 0.28 + 0.48 s of the cutoff, within
/// 40%.
/// @param sky  DarkSky::deviance().
[[nodiscard]] Blur blur_of_disc(const std::vector<spectrum::RatioRing>& ratio, double resolution,
                                const Deviance& sky);

/// The same where detail fills the picture and no dark sky tells the halo. The logarithms are the
/// means of those by the kept frames and of those by frames taken evenly over the capture, good or
/// bad, which no choice has made agree more. Several directions in a patch, and change of the air,
/// turn the D / r0 of the latter into D / r0 (D / r0 / 6)^0.15. While frames are exposed their
/// speckles move: of the part of <|S|^2> that the frames do not share, a share of
/// 1 / (1 + (D / r0 / 5)^3) is left.
[[nodiscard]] Blur blur_of_field(const std::vector<spectrum::RatioRing>& ratio, double resolution);

}  // namespace lull::finish
