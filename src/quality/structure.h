#pragma once

#include "core/plane.h"

namespace lull::quality {

/// Does a surface vary in both directions, by more than noise? What is looked at are differences
/// across and down, I(x, y) - I(x + d, y) - I(x, y + d) + I(x + d, y + d) with d = 16 px, of which
/// offsets of rows and columns leave nothing, however strong they are. Their mean square has to be
/// larger by half than noise makes it: in lunar and solar captures of known truth, the faint ones
/// among them, it is 38 to 4,700 times as large, in noise and in flat fields with patterns of
/// pixels or lines 0.87 to 1.05 times.
/// @param reduced   the frame, each sample the mean of `reduction` x `reduction` pixels.
/// @param noise     standard deviation of the noise of the pixels; what a pattern of pixels adds to
///                  it included.
[[nodiscard]] bool shows_structure(PlaneView reduced, int reduction, double noise);

}  // namespace lull::quality
