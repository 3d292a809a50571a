#pragma once

#include "core/plane.h"

namespace lull {

/// Means over squares of this side; what is left at the right and below is cut off.
[[nodiscard]] Plane reduced(PlaneView picture, int side_px);

}  // namespace lull
