#include "sky/horizon.h"

#include <erfa.h>

#include <algorithm>
#include <cmath>

#include "core/assert.h"

namespace lull::sky {

namespace {

// Pressure at which water vapour is full at 10 degrees C, hPa.
constexpr double kFullVapour_hpa = 12.27;

}  // namespace

Air air_at(double height_m) {
  return {1013.25 * std::pow(1 - 2.25577e-5 * height_m, 5.25588), 10, 0.5 * kFullVapour_hpa};
}

Horizontal horizontal(const ApparentPlace& place, const Observer& observer) {
  LULL_ASSERT(observer.site());
  const double hour_angle = observer.sidereal_rad() - place.right_ascension_deg * kDegree;
  double azimuth = 0;
  double altitude = 0;
  eraHd2ae(hour_angle, place.declination_deg * kDegree, observer.site()->latitude_deg * kDegree,
           &azimuth, &altitude);
  return {altitude / kDegree, full_turn(azimuth / kDegree)};
}

Horizontal horizontal(Body body, const Observer& observer) {
  return horizontal(apparent_place(sight_of(body, observer), observer), observer);
}

double refraction_deg(double altitude_deg, const Air& air) {
  const double altitude = std::clamp(altitude_deg, -1.0, 90.0);
  const double arcmin = 1.02 / std::tan((altitude + 10.3 / (altitude + 5.11)) * kDegree);
  return std::max(arcmin, 0.0) / 60 * air.pressure_hpa / 1010 * 283 / (273 + air.temperature_c);
}

double air_mass(double apparent_altitude_deg) {
  const double altitude = std::clamp(apparent_altitude_deg, 0.0, 90.0);
  return 1 / (std::sin(altitude * kDegree) + 0.50572 * std::pow(altitude + 6.07995, -1.6364));
}

}  // namespace lull::sky
