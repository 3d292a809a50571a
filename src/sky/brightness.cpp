#include "sky/brightness.h"

#include <cmath>
#include <stdexcept>

namespace lull::sky {

namespace {

constexpr double kSunAt1Au_mag = -26.76;
constexpr double kPhotonsAtZero = 1000 * 1e4 * 10;  // a second, square metre and nanometre

double geometric_albedo(Body body) {
  switch (body) {
    case Body::moon:
      return 0.12;
    case Body::mercury:
      return 0.142;
    case Body::venus:
      return 0.689;
    case Body::mars:
      return 0.170;
    case Body::jupiter:
      return 0.538;
    case Body::saturn:
      return 0.499;
    case Body::uranus:
      return 0.488;
    case Body::neptune:
      return 0.442;
    case Body::sun:
      break;
  }
  throw std::logic_error("the Sun reflects no light");
}

}  // namespace

double surface_brightness_mag(Body body, const Aspect& aspect) {
  if (body == Body::sun) {
    const double radius = 0.5 * aspect.equatorial_arcsec;
    return kSunAt1Au_mag + 5 * std::log10(aspect.distance_au) +
           2.5 * std::log10(std::numbers::pi * radius * radius);
  }
  // A full disc of radius R at distances r from the Sun and D from here sends albedo (R / D)^2 of
  // the Sun's light at r, from pi (R / D)^2 of the sky.
  const double square_arcsec = kArcsecPerRadian * kArcsecPerRadian;
  return kSunAt1Au_mag + 5 * std::log10(aspect.sun_distance_au) -
         2.5 * std::log10(geometric_albedo(body) / (std::numbers::pi * square_arcsec));
}

double photon_rate(double mag_per_square_arcsec) {
  return kPhotonsAtZero * std::pow(10, -0.4 * mag_per_square_arcsec);
}

}  // namespace lull::sky
