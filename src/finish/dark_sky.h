#pragma once

#include <optional>
#include <vector>

#include "core/plane.h"
#include "finish/blur.h"
#include "finish/detail.h"
#include "spectrum/fft.h"
#include "spectrum/radial_filter.h"

namespace lull::finish {

/// The sky around a disc, a ringed planet or beyond the Sun's limb, which says how wide the halo of
/// the stack is: what light there is has come from the object, by telescope and air, and a blur
/// that takes it back leaves the sky even. Too narrow a halo leaves a glow there, too wide a one a
/// dark rim.
class DarkSky {
 public:
  /// @param picture    linear stack, luminance.
  /// @param wiener_weight  see finish/strength.
  /// @param blur       a first one, to see the object's outline by.
  /// @return none where less than a tenth of the picture is sky.
  [[nodiscard]] static std::optional<DarkSky> find(
      PlaneView picture, const std::vector<spectrum::FilterPoint>& wiener_weight, const Blur& blur);

  /// Deviance of the blurs of this cutoff, by the variance that they leave in the sky.
  [[nodiscard]] Deviance deviance(double cutoff) const;

  /// Variance of what stays in the sky after this blur has been taken back, as the stack would show
  /// it; brightness of the object 1.
  [[nodiscard]] double light_left(const Blur& blur) const;

  /// Lifts what restoring made darker than the sky is: to its level far from the object less
  /// three times its noise, or to what the stack showed where that is darker still.
  /// @param before,noise  the same channel of the stack.
  void keep_from_darkening(Plane& restored, PlaneView before, const Noise& noise) const;

 private:
  DarkSky() = default;
  [[nodiscard]] std::vector<float> far_values(PlaneView picture) const;
  [[nodiscard]] float spread_of(const Noise& noise) const;

  Plane far_;  ///< 1 in the sky far from the object; in the whole picture
  std::vector<spectrum::FilterPoint> wiener_weight_;
  spectrum::Spectrum light_;  ///< of the picture, mirrored, sky 0
  Plane beyond_;              ///< 0 on the object, 1 in the sky
  std::vector<Place> near_;   ///< in the mirrored picture
};

}  // namespace lull::finish
