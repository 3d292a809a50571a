#include "sky/sight.h"

#include <erfa.h>
#include <erfam.h>

#include <stdexcept>

namespace lull::sky {

namespace {

constexpr double kSecondsPerAu = ERFA_AULT;
constexpr double kSecondsPerDay = ERFA_DAYSEC;
constexpr int kLightTimeRounds = 3;  // the last changes a planet's place by under a kilometre

int number_in_theory(Body body) {
  switch (body) {
    case Body::mercury:
      return 1;
    case Body::venus:
      return 2;
    case Body::mars:
      return 4;
    case Body::jupiter:
      return 5;
    case Body::saturn:
      return 6;
    case Body::uranus:
      return 7;
    case Body::neptune:
      return 8;
    default:
      throw std::logic_error("not a planet");
  }
}

Vector vector_of(const double p[3]) { return {{p[0], p[1], p[2]}}; }

// From the centre of the planetary system, so many seconds before the observer's moment.
Vector place_au(Body body, const Observer& observer, double earlier_s) {
  const JulianDate& tt = observer.moment().terrestrial;
  const double part = tt.part - earlier_s / kSecondsPerDay;
  if (body == Body::sun) return observer.sun_au();  // moves by 13 m/s: nothing in this time
  double pv[2][3];
  if (body == Body::moon) {
    eraMoon98(tt.whole, part, pv);
    const double days = earlier_s / kSecondsPerDay;
    return observer.earth_au() - observer.earth_au_per_day() * days + vector_of(pv[0]);
  }
  // Its status only warns of years outside 1000 to 3000.
  static_cast<void>(eraPlan94(tt.whole, part, number_in_theory(body), pv));
  return observer.sun_au() + vector_of(pv[0]);
}

}  // namespace

Sight sight_of(Body body, const Observer& observer) {
  Sight sight;
  for (int round = 0; round < kLightTimeRounds; ++round) {
    const Vector place = place_au(body, observer, sight.light_time_s);
    sight.from_observer_au = place - observer.place_au();
    sight.from_sun_au = place - observer.sun_au();
    sight.light_time_s = sight.from_observer_au.length() * kSecondsPerAu;
  }
  return sight;
}

ApparentPlace apparent_place(const Sight& sight, const Observer& observer) {
  Vector natural = sight.from_observer_au.unit();
  Vector velocity = observer.velocity();
  const double sun_au = (observer.place_au() - observer.sun_au()).length();
  Vector seen;
  eraAb(natural.at.data(), velocity.at.data(), sun_au, std::sqrt(1 - velocity.dot(velocity)),
        seen.at.data());
  const Vector of_date = observer.to_date() * seen;
  return {full_turn(of_date.longitude_rad() / kDegree), of_date.latitude_rad() / kDegree};
}

double elongation_deg(Body body, const Observer& observer) {
  const Vector to_body = sight_of(body, observer).from_observer_au;
  const Vector to_sun = sight_of(Body::sun, observer).from_observer_au;
  const double angle = angle_between(to_body, to_sun) / kDegree;
  // East of the Sun is where the cross product points north.
  return (observer.to_date() * to_sun.cross(to_body)).at[2] >= 0 ? angle : -angle;
}

}  // namespace lull::sky
