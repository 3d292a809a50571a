#pragma once

#include <optional>

#include "core/plane.h"
#include "globe/globe_view.h"

namespace lull::globe {

/// The limb of a globe whose shape and angle are known.
struct LimbFit {
  GlobePlace place;
  double blur_px = 0;     ///< sigma of the core of the blur
  double darkening = 1;   ///< Minnaert's k: light is in proportion to (cos sun)^k
                          ///< (cos observer)^(k-1)
  double brightness = 0;  ///< mean inside the limb, less the sky beside it
  double misfit = 0;      ///< rms beside the limb, of the globe's brightness
  double halo_share = 0;  ///< of the light, in the halo of the blur, as rings tell it; else 0: a
                          ///< limb alone tells it too badly
  bool by_rings = false;  ///< centre and radius are those of rings around it

  [[nodiscard]] LightSpread spread() const { return {blur_px, halo_share}; }
};

/// What a fit moves: centre and radius; the centre alone, of a place that was fitted before and
/// whose radius is known; or the angle of the pole too, which starts within 30 degrees of it.
enum class LimbSearch { place, centre, angle_too };

/// Fits centre, radius, blur and darkening of a model globe to the surroundings
/// of the limb: to what lies within 12% of it. Belts and spots only change the
/// brightness of sectors of it, which is free. The terminator is part of the
/// model. The blur has a core and a halo: what the air moves, and what it has left of that.
/// What rings hide or shade is left out; where they are open and lit they give centre and radius
/// (fit_rings()).
/// Source of the law: Minnaert 1941, ApJ 93, 403.
/// @param picture  linear light. @param start  with its angle; centre and
/// radius are found when the
///        radius is 0.
/// @return none where there is no bright body on a darker sky, of 10 px radius
/// at least.
[[nodiscard]] std::optional<LimbFit> fit_limb(PlaneView picture, const GlobeShape& shape,
                                              const GlobePlace& start,
                                              LimbSearch search = LimbSearch::place);

}  // namespace lull::globe
