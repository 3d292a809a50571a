#pragma once

#include <vector>

#include "core/plane.h"

namespace lull::spectrum {

/// Gain of an isotropic filter at a frequency, cycles/px; between them linear, before the first and
/// beyond the last as there.
struct FilterPoint {
  double frequency = 0;
  double gain = 1;
};

/// Gain of the filter at a frequency. @param curve  rising frequencies, not empty.
[[nodiscard]] double gain_at(const std::vector<FilterPoint>& curve, double frequency);

/// A canvas through the filter, in place, by Fourier transform: it closes on itself.
/// @param curve  rising frequencies.
void filter(Plane& canvas, const std::vector<FilterPoint>& curve);

/// The picture through the filter, by Fourier transform; beyond its edges it goes on as in a
/// mirror. The mean passes with the gain at frequency 0. @param curve  rising frequencies.
[[nodiscard]] Plane filtered(PlaneView picture, const std::vector<FilterPoint>& curve);

}  // namespace lull::spectrum
