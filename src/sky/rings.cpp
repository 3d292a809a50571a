#include "sky/rings.h"

#include <cmath>

#include "sky/aspect.h"

namespace lull::sky {

Rings rings_of_saturn(const Observer& observer) {
  const Aspect aspect = aspect_of(Body::saturn, observer);
  Rings rings;
  rings.tilt_deg = aspect.below_observer.centric_latitude_deg;
  rings.sun_tilt_deg = aspect.below_sun.centric_latitude_deg;
  rings.pole_deg = aspect.pole_deg;
  rings.outer_major_arcsec =
      aspect.equatorial_arcsec * kRingsEnd_km / globe_of(Body::saturn).equatorial_km;
  rings.outer_minor_arcsec =
      rings.outer_major_arcsec * std::abs(std::sin(rings.tilt_deg * kDegree));
  // Longitudes of points of the surface grow westward, those of the sky eastward.
  rings.sun_from_observer_deg =
      half_turn(aspect.below_observer.longitude_deg - aspect.below_sun.longitude_deg);
  return rings;
}

}  // namespace lull::sky
