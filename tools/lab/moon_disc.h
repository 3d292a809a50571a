#pragma once

#include <cstdint>

#include "core/plane.h"
#include "lab/mosaic_plan.h"

namespace lull::lab {

/// The Moon limb to limb: cratered highlands and smoother dark maria on a sphere, with the shadows
/// that its relief casts, up to the terminator. Craters go down to a radius of 1.2 px. Light is in
/// units of its brightest place. The Sun stands above the picture.
[[nodiscard]] Plane moon_disc(Size scene, const SceneDisc& disc, std::uint64_t seed);

}  // namespace lull::lab
