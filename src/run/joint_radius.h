#pragma once

#include <vector>

#include "run/globe_stack.h"

namespace lull::run {

/// Gives stacks of one scale one radius, and fits their centres anew with it. All limbs together
/// tell the radius in pixels for a distance of 1: from stack to stack it changes as the planet's
/// distance does. Sharp limbs that their models meet count more. Stacks whose radius is more than
/// 3% off, as from another camera, keep their own.
void share_radius(std::vector<GlobeStack>& stacks);

}  // namespace lull::run
