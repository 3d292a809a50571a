#pragma once

#include "judge/image.h"

namespace lull::judge {

/// Overshoot beside strong edges: in the band around the strongest 5% of the truth's slopes, mean
/// excess of the picture over the highest and under the lowest truth value nearby, over the mean
/// contrast there. Band and neighbourhood reach 1.5 / cutoff px: about the second dark ring of the
/// optics. 0 for the truth and for any blur of it; noise that tops the local extremes counts too.
/// The definition and the 5% are the project's own; no source.
/// @param truth   moved to the picture's geometry, distortion included.
/// @param fitted  the picture in the truth's units. @param cutoff  cycles/px.
[[nodiscard]] double ringing(const Image& truth, const Image& fitted, double cutoff);

/// Straight steps that the truth does not have: of the picture minus `matched`, differences of
/// neighbouring columns (rows), averaged over 32 px along the line; the largest excess of their
/// magnitude over the local median plus four local standard deviations (from the median absolute
/// deviation, 12 lines on either side), over the truth's peak. 0 for the truth; the step's height
/// for one tile that is offset. Pure noise of sd s leaves about 0.3 s. The project's own
/// definition; no source.
/// @param matched  the truth at the picture's sharpness, in the picture's units.
/// @param peak     of the truth, in the picture's units.
[[nodiscard]] double seams(const Image& matched, const Image& picture, double peak);

}  // namespace lull::judge
