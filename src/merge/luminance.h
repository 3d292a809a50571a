#pragma once

#include <array>

#include "core/plane.h"
#include "spectrum/frc.h"

namespace lull::merge {

/// A picture and half the difference of its half stacks: the halves are light + noise and light -
/// noise.
struct Light {
  Plane light;
  Plane noise;
};

/// Mean of three colours.
[[nodiscard]] Light mean_of(const std::array<Light, 3>& colours);

/// Gives three colours the detail of a luminance. Their shares in the light stay, smoothed as far
/// as their own half stacks agree (C^2): colour = share x (a L + wide(mean - a L)). `a` brings the
/// luminance L to the brightness of their mean, and what is wider than `kWidePx` stays that of the
/// mean, since their filters are those of the picture. High-pass modulation: Vivone et al. 2015,
/// IEEE Trans. Geosci. Remote Sens. 53, 2565. Each half is treated alone, so that the noise stays
/// honest. Equal sizes.
/// @param frc  of the mean of the colours.
void add_luminance(std::array<Light, 3>& colours, const Light& luminance,
                   const spectrum::FrcCurve& frc);

}  // namespace lull::merge
