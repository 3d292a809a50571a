#pragma once

#include "sky/observer.h"

namespace lull::sky {

/// Radii of Saturn's rings: the inner edge of ring C and the outer edge of ring A (from memory).
inline constexpr double kRingsBegin_km = 74'658;
inline constexpr double kRingsEnd_km = 136'775;

/// Saturn's rings as they are seen.
struct Rings {
  double tilt_deg = 0;            ///< of the observer above their plane, north positive (B)
  double sun_tilt_deg = 0;        ///< of the Sun (B')
  double pole_deg = 0;            ///< position angle of their northern minor axis (P)
  double outer_major_arcsec = 0;  ///< diameter of the outer edge of ring A along the major axis
  double outer_minor_arcsec = 0;
  /// Saturnicentric longitude of the Sun less that of the observer, along the rings, degrees; it
  /// grows with the width of the globe's shadow on them.
  double sun_from_observer_deg = 0;

  /// Whether the side that is seen is in sunlight.
  [[nodiscard]] bool lit() const { return tilt_deg * sun_tilt_deg > 0; }
};

/// The rings lie in the plane of the equator.
[[nodiscard]] Rings rings_of_saturn(const Observer& observer);

}  // namespace lull::sky
