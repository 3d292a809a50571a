#pragma once

#include <optional>
#include <vector>

#include "core/plane.h"
#include "finish/blur.h"
#include "finish/detail.h"
#include "spectrum/fft.h"
#include "spectrum/radial_filter.h"

namespace lull::finish {

/// Of a picture, or of a part that shall show sky.
inline constexpr double kLeastSky = 0.1;

/// The brightness below which all is sky. None where less than kLeastSky of the picture is.
[[nodiscard]] std::optional<float> sky_level(PlaneView picture);

/// Measures the width of the stack's halo from the sky around a disc or a ringed planet, or beyond
/// the Sun's limb. All light there came from the object, by telescope and air. The right
/// deconvolution leaves an even sky; too narrow a halo leaves a glow, too wide a one a dark rim.
class DarkSky {
 public:
  /// @param picture    linear stack, luminance.
  /// @param wiener_weight  see finish/strength.
  /// @param blur       a first estimate, used to find the object's outline.
  /// @return none where sky_level() is.
  [[nodiscard]] static std::optional<DarkSky> find(
      PlaneView picture, const std::vector<spectrum::FilterPoint>& wiener_weight, const Blur& blur);

  /// Deviance of the blurs of this cutoff, by the variance that they leave in the sky.
  [[nodiscard]] Deviance deviance(double cutoff) const;

  /// Variance of the light that remains in the sky after deconvolution with this blur; brightness
  /// of the object 1.
  [[nodiscard]] double residual_light(const Blur& blur) const;

  /// The least light that restoring may leave in a channel: the sky level far from the object less
  /// three times its noise. None where no sky is far from the object.
  /// @param before,noise  of the channel of the stack, whole.
  [[nodiscard]] std::optional<float> least_light(PlaneView before, const Noise& noise) const;

 private:
  DarkSky() = default;
  [[nodiscard]] std::vector<float> far_values(PlaneView picture) const;
  [[nodiscard]] float spread_of(const Noise& noise) const;

  Plane far_;  ///< 1 in the sky far from the object; in the whole picture
  std::vector<spectrum::FilterPoint> wiener_weight_;
  spectrum::Spectrum light_;  ///< of the picture, continued, sky 0
  Plane beyond_;              ///< 0 on the object, 1 in the sky
  std::vector<Place> near_;   ///< on that canvas
};

/// Raises pixels that restoration made darker than that, to it or to the value in the stack where
/// that is lower.
/// @param restored  a part of a channel. @param part  its place in `before`, the stack's channel.
void limit_darkening(Plane& restored, const Box& part, PlaneView before, float least_light);

}  // namespace lull::finish
