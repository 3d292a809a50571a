#pragma once

#include "judge/image.h"

namespace lull::judge {

/// Overshoot beside strong edges: in the band around the strongest 5% of the truth's slopes, mean
/// excess of the picture over the highest and under the lowest truth value nearby, over the mean
/// contrast there. Band and neighbourhood reach 1 / cutoff px to each side, rounded up: the
/// overshoot of a sharpened edge is inside. Gain and offset come from both pictures blurred by 2 /
/// cutoff px. 0 for the truth, near 0 for a blur of it; noise that tops the local extremes counts
/// too. The definition and its numbers are the project's; no source.
/// @param truth   moved to the picture's geometry, distortion included. @param cutoff  cycles/px.
[[nodiscard]] double ringing(const Image& truth, const Image& picture, double cutoff);

/// Straight steps that the truth does not have. Steps are differences of neighbouring columns (and
/// rows) of the picture minus `matched`, averaged over 32 px along the line, their magnitude taken.
/// From each an allowance is subtracted. It is the median of the steps of the 25 lines around, plus
/// four of their standard deviations (from the median absolute deviation), plus a quarter of the
/// largest step of `matched` within 2 px. The last is for sharpness that varies over the field,
/// which leaves a share of the truth's own edges. The largest rest, over the truth's peak, is the
/// figure: 0 for the truth, near the step's height for a tile that is offset. Pure noise of sd s
/// leaves about 0.3 s. The 10 outermost px are not judged; 0 when less than 32 px are left. The
/// definition and its numbers are the project's own; no source.
/// @param matched  the truth at the picture's sharpness, in the picture's units.
/// @param peak     of the truth, in the picture's units.
[[nodiscard]] double seams(const Image& matched, const Image& picture, double peak);

/// Rms error of a whole picture near its edges and inside, over the truth's peak.
struct EdgeError {
  double outer = 0;   ///< within 8 px of an edge
  double inside = 0;  ///< at least 16 px from all of them
};

/// Gain and offset are those of the inside. 0 and 0 for a picture without an inside. The definition
/// and its numbers are the project's own; no source.
/// @param truth  moved to the picture. @param picture  all of it, without padding.
[[nodiscard]] EdgeError edge_error(const Image& truth, const Image& picture);

}  // namespace lull::judge
