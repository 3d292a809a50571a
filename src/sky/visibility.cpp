#include "sky/visibility.h"

#include <algorithm>

#include "sky/aspect.h"
#include "sky/horizon.h"

namespace lull::sky {

namespace {

bool contains(const Intervals& intervals, Utc at) {
  return std::any_of(intervals.begin(), intervals.end(), [at](const Interval& interval) {
    return interval.from <= at && at <= interval.to;
  });
}

}  // namespace

Intervals when_recordable(Body body, const Night& night) {
  if (body == Body::sun) return when_up(Body::sun, night);
  const std::vector<double> sun = night.altitudes_deg(Body::sun);
  const bool bright = body == Body::moon || body == Body::mercury || body == Body::venus;
  const double level = bright ? rising_altitude_deg(Body::sun, night.observers().front())
                              : sun_altitude_deg(Twilight::civil);
  return both(night.below(sun, level), when_up(body, night));
}

std::optional<Culmination> highest(Body body, const Night& night, const Intervals& allowed) {
  std::vector<Utc> moments;
  for (const Interval& interval : allowed) {
    moments.push_back(interval.from);
    moments.push_back(interval.to);
  }
  const std::optional<Utc> transit = night.transit(body);
  if (transit && contains(allowed, *transit)) moments.push_back(*transit);
  std::optional<Culmination> best;
  for (const Utc at : moments) {
    const Horizontal place = horizontal(body, Observer(at, night.site()));
    if (best && place.altitude_deg <= best->altitude_deg) continue;
    best = Culmination{at, place.altitude_deg, place.azimuth_deg};
  }
  return best;
}

std::vector<Utc> passages(Body body, LongitudeSystem system, double longitude_deg,
                          const Night& night, const Intervals& allowed) {
  std::vector<Utc> out;
  const std::vector<Observer>& observers = night.observers();
  double last = 0;
  for (std::size_t i = 0; i < observers.size(); ++i) {
    const double past = half_turn(central_meridian_deg(body, observers[i], system) - longitude_deg);
    // A step turns Jupiter by 3 degrees; where the angle jumps by a full turn it does not pass 0.
    const bool passes = i > 0 && (last <= 0) != (past <= 0) && std::abs(past - last) < 90;
    if (passes) {
      const Utc from = observers[i - 1].moment().utc;
      const double step_s = seconds_between(from, observers[i].moment().utc);
      const Utc at = after(from, step_s * last / (last - past));
      if (contains(allowed, at)) out.push_back(at);
    }
    last = past;
  }
  return out;
}

}  // namespace lull::sky
