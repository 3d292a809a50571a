#pragma once

#include <vector>

#include "core/plane.h"
#include "spectrum/radial_filter.h"

namespace lull::stack {

/// The isotropic filter that best maps one picture to another of the same scene and size: ring by
/// ring of frequency the least-squares gain Re(sum from* to) / sum |from|^2, never over that of the
/// ring before, from 1 down to 0.
/// @param from  the sharper one. @param to  as large, at least 16 px a side.
[[nodiscard]] std::vector<spectrum::FilterPoint> relative_blur(PlaneView from, PlaneView to);

}  // namespace lull::stack
