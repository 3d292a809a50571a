#pragma once

#include "sky/observer.h"
#include "sky/sight.h"

namespace lull::sky {

/// The air that light passes.
struct Air {
  double pressure_hpa = 1013.25;
  double temperature_c = 10;
  double vapour_hpa = 8;  ///< pressure of the water vapour in it
};

/// Of the standard atmosphere (ISO 2533) at a height, 10 degrees C, half of the vapour it can hold.
[[nodiscard]] Air air_at(double height_m);

struct Horizontal {
  double altitude_deg = 0;  ///< without refraction
  double azimuth_deg = 0;   ///< from north through east
};

/// @param observer  stands on a site.
[[nodiscard]] Horizontal horizontal(const ApparentPlace& place, const Observer& observer);

/// Of the middle of the body.
[[nodiscard]] Horizontal horizontal(Body body, const Observer& observer);

/// How much the air lifts what stands at this altitude, degrees. Saemundsson 1986, Sky & Telescope
/// 72, 70 (Meeus, Astronomical Algorithms, 16.4): 0.12 arcmin off above 20 degrees. Below -1
/// degree: as there.
[[nodiscard]] double refraction_deg(double altitude_deg, const Air& air);

/// Air on the way over air to the zenith; of the apparent altitude, above the horizon. Kasten &
/// Young 1989, Applied Optics 28, 4735.
[[nodiscard]] double air_mass(double apparent_altitude_deg);

}  // namespace lull::sky
