#pragma once

#include <array>
#include <span>

#include "core/geometry.h"
#include "core/plane.h"

namespace lull::align {

/// A place between the samples of planes of one size, for reading several of them there.
struct SplinePlace {
  SplinePlace(double x_px, double y_px);

  int left;
  int top;
  std::array<float, 4> across;  ///< weights of the samples from left - 1
  std::array<float, 4> down;
};

/// A plane that can be read between its samples by cubic B-spline interpolation, mirrored at the
/// edges: closer to the true band-limited picture than cubic convolution, for the price of a
/// prefilter. Source: Unser 1999, IEEE Signal Processing Magazine 16(6), 22.
class SplinePlane {
 public:
  explicit SplinePlane(PlaneView plane);

  /// out(x, y) = plane(x + d.x, y + d.y). Sizes must match.
  void sample(Displacement d, MutablePlaneView out) const;

  /// The plane at one place, px.
  [[nodiscard]] float at(double x_px, double y_px) const { return at(SplinePlace(x_px, y_px)); }

  [[nodiscard]] float at(const SplinePlace& place) const;

  /// The plane at many places, px: in a quarter of the time of at(), and the same to some 1e-7 of
  /// the samples around. @param out  as many samples as there are places.
  void read(std::span<const Displacement> places, float* out) const;

 private:
  Plane coefficients_;
};

}  // namespace lull::align
