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

/// Restores detail with an isotropic filter. The change is split into wavelet planes. Where a plane
/// does not exceed its noise, it is left unchanged. Total flux is kept if the gain at frequency 0
/// is 1.
/// @param restraint  1: as described; 0: the full filter; between them a mixture.
[[nodiscard]] Plane restore_detail(PlaneView picture,
                                   const std::vector<spectrum::FilterPoint>& gains,
                                   const Noise& noise, double restraint = 1);

}  // namespace lull::finish
