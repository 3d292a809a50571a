#pragma once

#include <cmath>

#include "core/limit.h"

/// The curve of sRGB, IEC 61966-2-1: value = 12.92 light up to light 0.0031308, then
/// 1.055 light^(1/2.4) - 0.055.
namespace lull::srgb {

inline constexpr double kPower = 2.4;
inline constexpr double kOffset = 0.055;
inline constexpr double kSlope = 12.92;
inline constexpr double kLinearLight = 0.0031308;  ///< up to here the curve is a line
inline constexpr double kLinearValue = 0.04045;    ///< the same, on the side of the values

/// @param light  cut to [0, 1]; NaN counts as 0. @return in [0, 1].
[[nodiscard]] inline double from_light(double light) {
  const double v = limited(light, 1.0);
  return v <= kLinearLight ? kSlope * v : (1 + kOffset) * std::pow(v, 1 / kPower) - kOffset;
}

}  // namespace lull::srgb
