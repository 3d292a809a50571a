#pragma once

#include <vector>

#include "core/plane.h"
#include "judge/mosaic_truth.h"

namespace lull::judge {

/// Steps of the light of a mosaic against its truth, in percent of the local light.
struct Steps {
  int pieces = 0;        ///< of lines, about 80 px long, that were measured
  int not_told = 0;      ///< pieces where light falls so that no step can be told from it
  double level_rms = 0;  ///< of the light itself
  double level_worst = 0;
  double level_p99 = 0;  ///< 99% are smaller
  double slope_rms = 0;  ///< of its slope, percent in 100 px
  double slope_worst = 0;
};

/// Light of the mosaic and of the truth, both smoothed, on squares of 4 px of the scene.
struct SmoothLight {
  Plane wanted;
  Plane bend;    ///< Laplacian of it, by which a little blur changes it
  Plane rise_x;  ///< slopes of it, by which a small displacement changes it
  Plane rise_y;
  Plane seen;
  Plane covered;  ///< 1 where the mosaic shows something in all that was smoothed
  double brightest = 0;
};

/// @param wanted  the scene, as blurred as the mosaic. @param fitted  the mosaic on the grid of the
/// scene, in its units.
[[nodiscard]] SmoothLight smooth_light(PlaneView wanted, PlaneView fitted, PlaneView covered);

/// Across the borders of the panels. On both sides of a border, up to 64 px from it, seen = wanted
/// (a + b t) + c bend + d rise_x + e rise_y is fitted, t being the distance: by what a differs is
/// the step. The other terms are a blur and a displacement, which the sides share but for a part of
/// their own that is held back. Left out are pieces with less than 5% of the brightest light on a
/// side, and those where, by what is wanted alone, a step is told half as surely as on even ground:
/// along a limb. What is left out does not depend on the mosaic.
[[nodiscard]] Steps steps_at_borders(const SmoothLight& light, const MosaicTruth& truth);

/// The same across lines 72 px beside the borders, on either side: further than a border is seen.
[[nodiscard]] Steps steps_beside_borders(const SmoothLight& light, const MosaicTruth& truth);

/// The same across rows and columns, every 16 px: where a program has its seams is its own matter.
[[nodiscard]] Steps steps_anywhere(const SmoothLight& light);

}  // namespace lull::judge
