#pragma once

#include <vector>

#include "core/plane.h"

namespace lull::finish {

/// Light that is shown as black and as white.
struct Levels {
  double black = 0;
  double white = 1;
};

/// What looks right at once: the sky black, the object bright. For all that is made for the eye.
///
/// Where there is sky (or deep shadow: a twentieth of the samples at least lie within a tenth of
/// the way from the darkest to the brightest), black is two standard deviations above its
/// median, 2% of the range at most; white the 0.998 quantile of what is brighter. Elsewhere they
/// lie about the 0.002 and 0.998 quantiles of the field, a tenth of their distance lower for black,
/// and light 0 at least. So a few samples that restoring detail threw over an edge do not make all
/// others dark. Of a field of little contrast, such as solar granulation, what lies farther than 10
/// standard deviations (robust) from the median is left out: the field decides, not its spots.
/// Pixels that are not finite, or whose sum is not, are passed over.
/// @param picture  1 or 3 channels, equal sizes, light. @return black < white, always.
[[nodiscard]] Levels levels_of(const std::vector<PlaneView>& picture);

}  // namespace lull::finish
