#pragma once

#include "core/geometry.h"
#include "core/plane.h"

namespace lull::stack {

/// Highest frequency that measures a displacement, cycles/px; beyond it, aliasing interferes.
inline constexpr double kFinestOffset = 0.45;

/// Displacement of the detail of a colour channel against that of another, px: weighted least
/// squares on the phases of their cross spectrum, ring by ring, so that neither their contrast nor
/// any isotropic difference in sharpness counts. The weight of a ring follows from how well the two
/// agree in it; the displacement is iterated, the channel moved by cubic convolution. Up to about 4
/// px. {} where they have nothing in common. Equal sizes, at least 32 px a side.
/// @param highest  of the frequencies that count, cycles/px: where colour was sampled more coarsely
///                 than luma, finer detail is the luma's in all channels, with no offset.
[[nodiscard]] Displacement channel_offset(PlaneView reference, PlaneView channel,
                                          double highest = kFinestOffset);

/// Air disperses along one line, towards the zenith (Filippenko 1982, Publications of the
/// Astronomical Society of the Pacific 94, 715). Moves the offsets of red and blue onto the line
/// through zero that is nearest to both, if that is within their uncertainty.
void make_collinear(Displacement& red, Displacement& blue);

}  // namespace lull::stack
