#pragma once

#include <string>
#include <vector>

#include "run/globe_stack.h"

namespace lull::run {

/// How well the limb of a stack fits the disc of a planet on its date.
struct PlanetFit {
  sky::Body body;
  double misfit = 0;  ///< rms beside the limb, of the globe's brightness
};

/// Of all planets that are derotated, best first; of Saturn only where it is asked for, since its
/// rings leave little of the limb to compare. Flattening and phase differ, and the angle of the
/// flattening; sizes are left out. @param turning  with north.
[[nodiscard]] std::vector<PlanetFit> planet_fits(const GlobeStack& stack, sky::Body asked,
                                                 const Turning& turning);

/// What the discs of stacks without a pixel scale tell of the planet. @return notes: that another
/// planet fits better, or that nothing checks which it is.
/// @throws InputError: the discs clearly have the shape of another planet.
[[nodiscard]] std::vector<std::string> check_planet(const std::vector<GlobeStack>& stacks,
                                                    sky::Body body, const Turning& turning);

}  // namespace lull::run
