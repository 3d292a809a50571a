#pragma once

#include "core/plane.h"

namespace lull::merge {

/// The picture without its level and shading, and without its finest detail and noise: the
/// difference of two Gaussian blurs of these standard deviations.
[[nodiscard]] Plane detail_of(PlaneView picture, double fine_px, double coarse_px);

/// Through a Gaussian of this standard deviation; beyond its edges it goes on as in a mirror.
[[nodiscard]] Plane blurred(PlaneView picture, double sigma_px);

/// `picture` with the local level and contrast of `reference`: a picture + b, with a and b by least
/// squares in a Gaussian window around each pixel (He, Sun & Tang 2013, IEEE Trans. Pattern Anal.
/// Mach. Intell. 35, 1397). Equal sizes.
[[nodiscard]] Plane with_contrast_of(PlaneView reference, PlaneView picture, double window_px);

}  // namespace lull::merge
