#pragma once

#include "sky/body.h"
#include "sky/observer.h"
#include "sky/vector.h"

namespace lull::sky {

/// A body as its light shows it: where it was when the light left. Along the axes of the ICRS.
struct Sight {
  Vector from_observer_au;
  Vector from_sun_au;  ///< 0 for the Sun
  double light_time_s = 0;
};

/// Planets: Simon et al. 1994, A&A 282, 663 (eraPlan94), which is up to 4 (Mercury) to 86 (Uranus)
/// arcseconds off as seen from the Sun; the Earth: eraEpv00, under 0.01 arcseconds; the Moon: Meeus
/// 1998 after Chapront (eraMoon98), about 10 arcseconds.
[[nodiscard]] Sight sight_of(Body body, const Observer& observer);

/// Where it appears: bent by the observer's motion (aberration), not by the air.
struct ApparentPlace {
  double right_ascension_deg = 0;  ///< true equator and equinox of the moment
  double declination_deg = 0;
};

[[nodiscard]] ApparentPlace apparent_place(const Sight& sight, const Observer& observer);

/// Angle from the Sun, degrees; east of it (visible after sunset) is positive.
[[nodiscard]] double elongation_deg(Body body, const Observer& observer);

}  // namespace lull::sky
