#pragma once

#include <optional>
#include <vector>

#include "sky/night.h"
#include "sky/rotation_elements.h"

namespace lull::sky {

/// When a body can be recorded, by rules of common practice (no source): planets with the Sun more
/// than 6 degrees under the horizon; the Moon, Mercury and Venus with the Sun under the horizon;
/// the Sun while it is up.
[[nodiscard]] Intervals when_recordable(Body body, const Night& night);

/// The highest altitude of a body within some intervals.
struct Culmination {
  Utc at;
  double altitude_deg = 0;  ///< without refraction
  double azimuth_deg = 0;
};

/// None where the intervals are empty. Good to some seconds at the transit, else an end.
[[nodiscard]] std::optional<Culmination> highest(Body body, const Night& night,
                                                 const Intervals& allowed);

/// When a longitude passes the middle of the disc within some intervals.
[[nodiscard]] std::vector<Utc> passages(Body body, LongitudeSystem system, double longitude_deg,
                                        const Night& night, const Intervals& allowed);

}  // namespace lull::sky
