#pragma once

#include <vector>

#include "core/plane.h"

namespace lull::finish {

/// A picture split by feature size with the a trous B3-spline wavelet transform: the picture is
/// the sum of its planes and of the smooth rest. Kernel [1 4 6 4 1] / 16 along rows and columns,
/// its taps 2^j samples apart for plane j; edges mirrored (Holschneider et al. 1989; Starck &
/// Murtagh, Astronomical Image and Data Analysis).
struct AtrousPlanes {
  std::vector<Plane> planes;  ///< finest first: features of about 2, 4, 8 ... px
  Plane smooth;
};

/// @param count planes, at least 1. Cost: O(pixels) for each.
[[nodiscard]] AtrousPlanes atrous(PlaneView picture, int count);

}  // namespace lull::finish
