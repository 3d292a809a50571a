#pragma once

#include <vector>

#include "core/plane.h"
#include "finish/levels.h"

namespace lull::finish {

/// How light becomes brightness on a screen.
enum class Tone {
  linear,  ///< as it is
  gamma,   ///< by the sRGB curve, which screens undo: so light looks as it is
  asinh    ///< asinh(10 v) / asinh(10): lifts what is faint, colours stay (Lupton et al. 2004)
};

/// Does nothing for Tone::linear. Else maps black to 0 and white to 1 (see place_between()), clamps
/// to [0, 1], and applies the tone. With asinh the colours of a pixel are stretched together, by
/// their mean; where one would exceed 1, all are scaled down.
/// @param picture  1 or 3 channels, equal sizes, light.
void apply_tone(std::vector<Plane>& picture, Tone tone, const Levels& levels);

/// Moves the colours of each pixel away from its luminance (factors over 1) or towards it: in
/// light, with the luminance of IEC 61966-2-1 (0.2126 R + 0.7152 G + 0.0722 B), which stays.
/// @param picture  3 channels, light. @param factor  0 = gray, 1 = as it is.
void saturate(std::vector<Plane>& picture, double factor);

}  // namespace lull::finish
