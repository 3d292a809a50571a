#pragma once

#include "core/plane.h"

namespace lull::quality {

/// Does a surface vary in both directions, by more than noise? The test uses differences across and
/// down, I(x, y) - I(x + d, y) - I(x, y + d) + I(x + d, y + d) with d = 16 px, in which offsets of
/// rows and columns cancel, however strong they are. Their mean square must exceed that of noise by
/// half. In lunar and solar captures of known truth, faint ones included, it is 38 to 4,700 times
/// as large. In noise, and in flat fields with patterns of pixels or lines, it is 0.87 to 1.05
/// times.
/// @param reduced   the frame, each sample the mean of `reduction` x `reduction` pixels.
/// @param noise     standard deviation of the noise of the pixels, that of a pattern of pixels
///               included.
[[nodiscard]] bool shows_structure(PlaneView reduced, int reduction, double noise);

}  // namespace lull::quality
