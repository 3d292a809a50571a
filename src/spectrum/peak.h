#pragma once

#include "core/geometry.h"
#include "core/plane.h"

namespace lull::spectrum {

/// The highest sample of a circular correlation, to a fraction of a sample.
struct CorrelationPeak {
  Displacement at;      ///< samples, wrapped to the half around zero
  double over_rms = 0;  ///< height over the rms of the whole surface; 0 for an empty one
};

/// Looks where |x| <= reach_x and |y| <= reach_y (wrapped). Sub-sample place by the vertex of the
/// parabola through the three samples of each axis.
[[nodiscard]] CorrelationPeak find_peak(PlaneView correlation, int reach_x, int reach_y);

}  // namespace lull::spectrum
