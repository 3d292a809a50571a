#pragma once

#include "core/plane.h"

namespace lull::stack {

/// What fusion changed in the luminance, given to a colour by how far its detail follows that of
/// the luminance: colour + slope (after - before), the slope by least squares from differences
/// between pixels a few apart.
/// @param before,after  luminance without and with the correction, as large as the colour.
/// @param measured      where the slope is.
void share_correction(PlaneView before, PlaneView after, MutablePlaneView colour,
                      const Box& measured);

}  // namespace lull::stack
