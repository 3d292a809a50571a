#pragma once

#include "core/plane.h"

namespace lull {

/// The lowest value in the square of 2 reach + 1 pixels around each place; it ends at the edges.
[[nodiscard]] Plane lowest_nearby(const Plane& plane, int reach);

/// The highest one.
[[nodiscard]] Plane highest_nearby(const Plane& plane, int reach);

}  // namespace lull
