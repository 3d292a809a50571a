#pragma once

#include <functional>

#include "judge/image.h"

namespace lull::judge {

/// The truth filtered by the best isotropic zero-phase gain towards the picture: as sharp as the
/// picture, with the picture's mean, without its noise. Nothing beyond the cutoff is kept.
[[nodiscard]] Image matched_radially(const Image& truth, const Image& picture, double cutoff);

/// Smooth displacement u (px) with picture(x) ~ truth(x - u(x)).
struct Distortion {
  Image x;
  Image y;
  Image weight;       ///< detail that u rests on; 0 at the rim
  double rms_px = 0;  ///< of u around its mean, both weighted
};

/// The truth displaced by a field: at(x_px, y_px), both of the picture's size.
using DisplacedTruth = std::function<Image(const Image&, const Image&)>;

/// Lucas & Kanade 1981 in Gaussian windows of 28, then 14 px; the truth is blurred to the picture's
/// sharpness in every round.
[[nodiscard]] Distortion find_distortion(const DisplacedTruth& truth_at, const Image& picture,
                                         double cutoff);

}  // namespace lull::judge
