#pragma once

#include "core/plane.h"
#include "judge/patch_shifts.h"

namespace lull::judge {

/// The scene through the blur of the mosaic, so that what is left between both is no blur: a sum of
/// Gaussians (standard deviations of 0 to 16 px, a factor of sqrt(2) apart) of sum 1, whose shares
/// follow from the mosaic by least squares in squares of 1,536 px and lie evenly between. It is
/// alike in all directions and changes slowly, so that it cannot make a step. A displacement, a
/// gain and an offset are fitted beside it, and left out.
/// @param mosaic  on the grid of the scene.
[[nodiscard]] Plane through_blur_of(const Brought& mosaic, PlaneView scene);

}  // namespace lull::judge
