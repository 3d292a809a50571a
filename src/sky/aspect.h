#pragma once

#include "sky/observer.h"
#include "sky/rotation_elements.h"
#include "sky/sight.h"

namespace lull::sky {

/// A point of a globe's surface, degrees.
struct SurfacePoint {
  /// Planetographic: of the normal to the surface.
  double latitude_deg = 0;
  /// Of the line to the centre.
  double centric_latitude_deg = 0;
  /// In the sense of longitude_sense(), within [0, 360).
  double longitude_deg = 0;
};

/// How a globe is seen. Position angles are counted from the celestial north pole of the moment
/// through east, degrees within [0, 360).
struct Aspect {
  double distance_au = 0;
  double sun_distance_au = 0;
  double equatorial_arcsec = 0;  ///< apparent diameter
  double polar_arcsec = 0;       ///< along the projected axis
  double phase_deg = 0;          ///< angle Sun - body - observer
  double lit = 1;                ///< part of the disc's diameter, and area, in sunlight
  double bright_limb_deg = 0;    ///< position angle of its middle; of no meaning for the Sun
  double pole_deg = 0;           ///< position angle of the north pole
  SurfacePoint below_observer;  ///< the middle of the disc; longitude: that of the system asked for
  SurfacePoint below_sun;

  /// Greatest width of the part in shadow, arcsec.
  [[nodiscard]] double shadow_arcsec() const { return (1 - lit) * equatorial_arcsec; }
};

/// @param system  of the longitudes; only Jupiter has more than one.
[[nodiscard]] Aspect aspect_of(Body body, const Observer& observer,
                               LongitudeSystem system = LongitudeSystem::three);

/// Longitude of the middle of the disc, degrees: geometric, with the light's way counted, and with
/// no correction for the shadowed limb (some tables add one of up to half a degree for Jupiter).
[[nodiscard]] double central_meridian_deg(Body body, const Observer& observer,
                                          LongitudeSystem system = LongitudeSystem::three);

/// How fast the globe turns about its axis as this observer sees it: the change of the longitude of
/// the middle of the disc, degrees an hour, 0 or more.
[[nodiscard]] double longitude_deg_per_hour(Body body, const Observer& observer,
                                            LongitudeSystem system = LongitudeSystem::three);

/// How fast the face turns as this observer sees it: the motion of the point in the middle of the
/// disc, degrees an hour. On the disc it moves by radius x this angle. Less than
/// longitude_deg_per_hour() where a pole is tilted towards the observer.
[[nodiscard]] double turning_deg_per_hour(Body body, const Observer& observer,
                                          LongitudeSystem system = LongitudeSystem::three);

}  // namespace lull::sky
