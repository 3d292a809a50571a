#include "sky/moon.h"

#include "sky/aspect.h"

namespace lull::sky {

double MoonFace::libration_deg() const {
  return angle_between(direction(0, 0), direction(libration_longitude_deg * kDegree,
                                                  libration_latitude_deg * kDegree)) /
         kDegree;
}

double MoonFace::libration_direction_deg() const {
  const Vector middle =
      direction(libration_longitude_deg * kDegree, libration_latitude_deg * kDegree);
  return full_turn(std::atan2(middle.at[1], middle.at[2]) / kDegree);
}

MoonFace moon_face(const Observer& observer) {
  const Aspect aspect = aspect_of(Body::moon, observer);
  MoonFace face;
  face.libration_longitude_deg = half_turn(aspect.below_observer.longitude_deg);
  face.libration_latitude_deg = aspect.below_observer.latitude_deg;
  face.sun_latitude_deg = aspect.below_sun.latitude_deg;
  face.sun_longitude_deg = half_turn(aspect.below_sun.longitude_deg);
  face.colongitude_deg = full_turn(90 - face.sun_longitude_deg);
  face.morning_terminator_deg = half_turn(face.sun_longitude_deg - 90);
  face.evening_terminator_deg = half_turn(face.sun_longitude_deg + 90);
  return face;
}

}  // namespace lull::sky
