#include "sky/aspect.h"

#include <erfam.h>

#include <cmath>

namespace lull::sky {

namespace {

constexpr double kKmPerAu = ERFA_DAU / 1000;
constexpr double kTurningStep_s = 60;

// Of when the light left: also for the Sun (Archinal et al. 2011, note to table 1).
RotationElements elements_of(Body body, LongitudeSystem system, const Sight& sight,
                             const Observer& observer) {
  return rotation_elements(body, system, observer.moment().days_since_2000(sight.light_time_s));
}

// @param outward  from the middle of the globe, along its own axes.
SurfacePoint below(Body body, const Vector& outward) {
  const double ratio = globe_of(body).axis_ratio();
  const double east = outward.longitude_rad() / kDegree;
  const double centric = outward.latitude_rad();
  SurfacePoint point;
  point.centric_latitude_deg = centric / kDegree;
  point.latitude_deg = std::atan2(std::sin(centric), ratio * ratio * std::cos(centric)) / kDegree;
  point.longitude_deg = full_turn(longitude_sense(body) == LongitudeSense::east ? east : -east);
  return point;
}

// Position angle at a place in the sky of a direction, both on axes of the moment.
double position_angle_deg(const Vector& place, const Vector& towards) {
  const Vector north{{0, 0, 1}};
  const Vector east = north.cross(place).unit();
  const Vector up = place.unit().cross(east);
  return full_turn(std::atan2(towards.dot(east), towards.dot(up)) / kDegree);
}

double diameter_arcsec(double radius_km, double distance_au) {
  return 2 * std::asin(radius_km / (distance_au * kKmPerAu)) * kArcsecPerRadian;
}

}  // namespace

Aspect aspect_of(Body body, const Observer& observer, LongitudeSystem system) {
  const Sight sight = sight_of(body, observer);
  const RotationElements elements = elements_of(body, system, sight, observer);
  const Rotation axes = body_axes(elements);
  const Globe globe = globe_of(body);
  Aspect aspect;
  aspect.distance_au = sight.from_observer_au.length();
  aspect.sun_distance_au = sight.from_sun_au.length();
  aspect.below_observer = below(body, axes * (sight.from_observer_au * -1));
  aspect.equatorial_arcsec = diameter_arcsec(globe.equatorial_km, aspect.distance_au);
  const double tilt = aspect.below_observer.centric_latitude_deg * kDegree;
  aspect.polar_arcsec =
      aspect.equatorial_arcsec * std::hypot(std::sin(tilt), globe.axis_ratio() * std::cos(tilt));
  const Vector place = observer.to_date() * sight.from_observer_au;
  aspect.pole_deg = position_angle_deg(place, observer.to_date() * pole_of(elements));
  if (body == Body::sun) return aspect;
  const Vector to_sun = sight.from_sun_au * -1;
  aspect.below_sun = below(body, axes * to_sun);
  aspect.phase_deg = angle_between(to_sun, sight.from_observer_au * -1) / kDegree;
  aspect.lit = 0.5 * (1 + std::cos(aspect.phase_deg * kDegree));
  aspect.bright_limb_deg = position_angle_deg(place, observer.to_date() * to_sun);
  return aspect;
}

double central_meridian_deg(Body body, const Observer& observer, LongitudeSystem system) {
  return aspect_of(body, observer, system).below_observer.longitude_deg;
}

double longitude_deg_per_hour(Body body, const Observer& observer, LongitudeSystem system) {
  const Observer later(after(observer.moment().utc, kTurningStep_s), observer.site());
  return std::abs(half_turn(central_meridian_deg(body, later, system) -
                            central_meridian_deg(body, observer, system))) *
         3600 / kTurningStep_s;
}

double turning_deg_per_hour(Body body, const Observer& observer, LongitudeSystem system) {
  const auto middle = [&](const Observer& at) {
    const Sight sight = sight_of(body, at);
    return body_axes(elements_of(body, system, sight, at)) * sight.from_observer_au;
  };
  const Utc later = after(observer.moment().utc, kTurningStep_s);
  return angle_between(middle(observer), middle(Observer(later, observer.site()))) / kDegree *
         3600 / kTurningStep_s;
}

}  // namespace lull::sky
