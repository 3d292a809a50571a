#pragma once

#include <vector>

#include "core/plane.h"

namespace lull::align {

/// A Gaussian from its middle outwards; with the other half its sum is 1.
/// @param sigma_px  standard deviation, samples. @param radius  of its last value, samples.
[[nodiscard]] std::vector<float> half_gaussian(double sigma_px, int radius);

/// Blurs planes by a Gaussian, and keeps every so many samples of what comes out, along both axes.
/// Samples beyond the edges are those at the edges.
class GaussianBlur {
 public:
  /// @param sigma_px  standard deviation, samples; 0: none. @param step  1 keeps all samples.
  explicit GaussianBlur(double sigma_px, int step = 1);

  /// Memory for one thread.
  struct Workspace {
    std::vector<float> line, across;
    std::vector<const float*> rows;
  };

  /// Size of what is kept: samples 0, step, 2 step and so on.
  [[nodiscard]] Size kept(Size size) const;

  /// @param out  of the size that is kept.
  void apply(PlaneView in, Workspace& work, MutablePlaneView out) const;

 private:
  std::vector<float> taps_;  ///< half of the Gaussian, of unit sum
  int step_;
};

}  // namespace lull::align
