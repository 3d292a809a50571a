#pragma once

#include <variant>
#include <vector>

#include "core/plane.h"
#include "spectrum/radial_filter.h"

namespace lull::finish {

/// Noise of a picture: a plane of nothing else, as large (see half_difference()), or, where there
/// is none, the standard deviation of white noise.
using Noise = std::variant<PlaneView, double>;

/// Half of the difference of the half stacks: the noise of the whole stack, without its signal.
/// @param first,second  equal sizes.
[[nodiscard]] Plane half_difference(PlaneView first, PlaneView second);

/// Restores detail with an isotropic filter. What it adds is split into wavelet planes, and where
/// a plane does not stand out of its noise, it is left as it was. Total flux is kept if the gain
/// at frequency 0 is 1.
/// @param restraint  1: as said; 0: all that the filter gives; between them a mixture.
[[nodiscard]] Plane restore_detail(PlaneView picture,
                                   const std::vector<spectrum::FilterPoint>& gains,
                                   const Noise& noise, double restraint = 1);

}  // namespace lull::finish
