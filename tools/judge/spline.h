#pragma once

#include "judge/image.h"

namespace lull::judge {

/// Quintic B-spline through the samples of an image, mirrored at its edge samples: can be evaluated
/// anywhere. Source: Unser, Aldroubi & Eden 1993 IEEE Trans. Signal Processing 41, 821 and 834
/// (prefilter by recursion). scipy.ndimage.map_coordinates(order=5, mode="mirror") gives the same.
class Spline {
 public:
  Spline() = default;
  /// At least 2 x 2 px.
  explicit Spline(const Image& image);

  [[nodiscard]] Size size() const { return coefficients_.size(); }

  [[nodiscard]] double at(double x, double y) const;

  /// Values at (x + offset.x_px, y + offset.y_px) for every pixel of a picture of this size.
  [[nodiscard]] Image sampled(Size size, Displacement offset) const;

 private:
  Image coefficients_;
};

}  // namespace lull::judge
