#pragma once

#include <vector>

#include "core/geometry.h"
#include "core/plane.h"

namespace lull::merge {

/// A large box inside `within` on which every mask is 1: from the whole of it, the side with the
/// largest share of uncovered pixels moves in until nothing is uncovered. May be empty.
/// @param masks  0 or 1, equal sizes.
[[nodiscard]] Box covered_box(const std::vector<PlaneView>& masks, const Box& within);

}  // namespace lull::merge
