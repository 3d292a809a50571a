#include "sky/sun.h"

#include <cmath>

#include "sky/aspect.h"

namespace lull::sky {

namespace {

// Meeus, Astronomical Algorithms, 29.1: mean beginning of rotation 0, and mean synodic period.
constexpr double kRotationZero = 2398140.2270;
constexpr double kRotation_d = 27.2752316;

}  // namespace

SunFace sun_face(const Observer& observer) {
  const Aspect aspect = aspect_of(Body::sun, observer);
  SunFace face;
  face.pole_deg = half_turn(aspect.pole_deg);
  face.latitude_deg = aspect.below_observer.latitude_deg;
  face.longitude_deg = aspect.below_observer.longitude_deg;
  // The mean number is off by some hours only; the longitude states how far the rotation is.
  const double mean = (observer.moment().terrestrial.sum() - kRotationZero) / kRotation_d;
  const double passed = 1 - face.longitude_deg / 360;
  face.rotation = static_cast<int>(std::lround(mean - passed));
  return face;
}

}  // namespace lull::sky
