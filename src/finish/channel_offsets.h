#pragma once

#include <vector>

#include "core/geometry.h"
#include "core/plane.h"

namespace lull::finish {

/// By how much red and blue are moved against green, px: by hand, where the air's dispersion was
/// not undone in full.
struct ChannelOffsets {
  Displacement red;
  Displacement blue;

  [[nodiscard]] bool any() const;

  /// Pixels beyond a part that the moved part depends on.
  [[nodiscard]] int margin_px() const;
};

/// Moves the content of red and blue, read between the samples by cubic B-splines
/// (align::SplinePlane), mirrored at the edges. @param picture  three planes.
void move_channels(std::vector<Plane>& picture, const ChannelOffsets& offsets);

}  // namespace lull::finish
