#pragma once

#include "core/plane.h"

namespace lull::test {

inline constexpr Size kColourScene{96, 80};

/// A smooth scene in colours: another colour has another contrast and another level.
/// @param channel  0 red, 1 green, 2 blue.
[[nodiscard]] double light_at(double x, double y, int channel);

/// One colour of it, its detail moved by (dx, dy), with seeded noise.
[[nodiscard]] Plane colour_picture(int channel, double dx, double dy, double sigma, unsigned seed);

}  // namespace lull::test
