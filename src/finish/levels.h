#pragma once

#include <array>
#include <optional>
#include <span>
#include <vector>

#include "core/plane.h"

namespace lull::finish {

/// Light that is shown as black and as white.
struct Levels {
  double black = 0;
  double white = 1;

  /// Of a field whose dark spots reach far below the rest of it: the light that is shown as black
  /// instead. The spots take the darkest 16% of the way from `black` to `white`, which are 43% of
  /// the gray values; above, brightness is that of `black` and `white` alone.
  std::optional<double> darkest = {};

  /// What the sky of each of three channels has beyond the sky's mean: it is subtracted.
  std::array<double, 3> cast = {};

  [[nodiscard]] double shown_as_black() const { return darkest.value_or(black); }
};

/// What looks right at once: the sky black, the object bright. For all that is made for the eye.
///
/// Where there is sky (or deep shadow: a twentieth of the samples at least lie within a tenth of
/// the way from the darkest to the brightest), black is two standard deviations above its
/// median, 2% of the range at most; white the 0.998 quantile of what is brighter. The median of
/// each channel becomes black alike. Elsewhere black and white lie about the 0.002 and 0.998
/// quantiles of the field, a tenth of their distance lower for black, and light 0 at least. So a
/// few samples that restoring detail threw over an edge do not make all others dark. What lies
/// farther than 5 standard deviations (robust) below the median of a field, such as spots among
/// solar granules, has no say: the field decides, and the spots are squeezed in below it. Pixels
/// that are not finite, or whose sum is not, are passed over.
/// @param picture  1 or 3 channels, equal sizes, light. @return black < white, always.
[[nodiscard]] Levels levels_of(const std::vector<PlaneView>& picture);

/// From the light of a pixel to its place between black (0) and white (1); not limited.
/// @param channels  of one pixel: 1 or 3. Where spots are squeezed in, its colours are scaled
/// together.
void place_between(const Levels& levels, std::span<double> channels);

}  // namespace lull::finish
