#pragma once

#include "judge/image.h"
#include "judge/spline.h"
#include "judge/truth.h"

namespace lull::judge {

/// Whole-pixel displacement with picture(x) ~ scene(x - shift), and how well they agree there.
struct CoarseMatch {
  Displacement shift;      ///< px
  double correlation = 0;  ///< normalised, weighted by the overlap; 1 = the same picture
};

/// Normalised correlation of differences of Gaussians (1.5 and 14 px), over all displacements.
/// Places with little overlap count less. At least 32 x 32 px each.
[[nodiscard]] CoarseMatch find_coarse(const Image& picture, const Image& scene);

/// Refines a displacement that is right to a pixel. Weighted least squares on the phase of the
/// cross spectrum, ring by ring, with gain and noise of each ring estimated: insensitive to any
/// isotropic symmetric blur or sharpening.
/// @param picture  what to place; `box` is the part of it to use.
/// @param spline   of `truth`: its mean or one of its channels.
/// @param cutoff   cycles/px; nothing beyond it is used.
[[nodiscard]] Displacement refine_shift(const Truth& truth, const Spline& spline,
                                        const Image& picture, Displacement start, const Box& box,
                                        double cutoff);

}  // namespace lull::judge
