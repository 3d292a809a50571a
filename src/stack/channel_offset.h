#pragma once

#include "core/geometry.h"
#include "core/plane.h"

namespace lull::stack {

/// Displacement of the detail of a colour channel against that of another, px: weighted least
/// squares on the phases of their cross spectrum, ring by ring, so that neither their contrast nor
/// any isotropic difference in sharpness counts. The weight of a ring follows from how well the two
/// agree in it; the displacement is iterated, the channel moved by cubic convolution.
/// Up to about 4 px. {} where they have nothing in common. Equal sizes, at least 32 px a side.
[[nodiscard]] Shift channel_offset(PlaneView reference, PlaneView channel);

}  // namespace lull::stack
