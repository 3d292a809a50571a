#pragma once

#include "sky/observer.h"

namespace lull::sky {

/// Physical ephemeris of the Sun.
struct SunFace {
  double pole_deg = 0;       ///< position angle of the north pole, east positive, [-180, 180): P
  double latitude_deg = 0;   ///< of the middle of the disc: B0
  double longitude_deg = 0;  ///< Carrington longitude of the middle: L0
  int rotation = 0;          ///< Carrington's number; a new one begins when L0 passes from 0 to 360
};

[[nodiscard]] SunFace sun_face(const Observer& observer);

}  // namespace lull::sky
