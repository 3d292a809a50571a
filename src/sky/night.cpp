#include "sky/night.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "core/assert.h"
#include "sky/aspect.h"
#include "sky/horizon.h"

namespace lull::sky {

namespace {

constexpr double kStep_s = 300;
constexpr double kRefraction_deg = 34.0 / 60;
constexpr double kArcsecPerDegree = 3600;

double local_mean_time_h(const Site& site) { return site.longitude_deg / 15; }

// Where the line from value a to value b crosses 0, as a part of the way.
double crossing(double a, double b) { return a / (a - b); }

}  // namespace

Intervals both(const Intervals& a, const Intervals& b) {
  Intervals out;
  for (const Interval& one : a) {
    for (const Interval& other : b) {
      const Interval common{std::max(one.from, other.from), std::min(one.to, other.to)};
      if (common.from < common.to) out.push_back(common);
    }
  }
  std::sort(out.begin(), out.end(),
            [](const Interval& x, const Interval& y) { return x.from < y.from; });
  return out;
}

double hours_of(const Intervals& intervals) {
  double sum = 0;
  for (const Interval& interval : intervals) sum += interval.hours();
  return sum;
}

Night::Night(Site site, Interval span) : site_(site), span_(span) {
  LULL_ASSERT(span.from < span.to);
  for (Utc at = span.from; at < span.to; at = after(at, kStep_s)) observers_.emplace_back(at, site);
  observers_.emplace_back(span.to, site);
}

std::vector<double> Night::altitudes_deg(Body body) const {
  std::vector<double> out;
  out.reserve(observers_.size());
  for (const Observer& observer : observers_)
    out.push_back(horizontal(body, observer).altitude_deg);
  return out;
}

Utc Night::between(std::size_t i, double part) const {
  const Utc from = observers_[i].moment().utc;
  return after(from, part * seconds_between(from, observers_[i + 1].moment().utc));
}

Intervals Night::above(const std::vector<double>& values, double level) const {
  LULL_ASSERT(values.size() == observers_.size());
  Intervals out;
  if (values.front() > level) out.push_back({span_.from, span_.to});
  for (std::size_t i = 0; i + 1 < values.size(); ++i) {
    const double a = values[i] - level;
    const double b = values[i + 1] - level;
    if (a <= 0 && b > 0) out.push_back({between(i, crossing(a, b)), span_.to});
    if (a > 0 && b <= 0) out.back().to = between(i, crossing(a, b));
  }
  return out;
}

Intervals Night::below(const std::vector<double>& values, double level) const {
  std::vector<double> turned(values.size());
  std::transform(values.begin(), values.end(), turned.begin(), [](double v) { return -v; });
  return above(turned, -level);
}

std::optional<Utc> Night::transit(Body body) const {
  double last = 0;
  for (std::size_t i = 0; i < observers_.size(); ++i) {
    const ApparentPlace place = apparent_place(sight_of(body, observers_[i]), observers_[i]);
    const double hour_angle =
        half_turn(observers_[i].sidereal_rad() / kDegree - place.right_ascension_deg);
    // A step is about a degree; where the angle jumps from 180 to -180 it does not cross 0.
    if (i > 0 && last <= 0 && hour_angle > 0 && hour_angle - last < 90)
      return between(i - 1, crossing(last, hour_angle));
    last = hour_angle;
  }
  return std::nullopt;
}

Interval noon_to_noon(const Site& site, int year, int month, int day) {
  const Utc noon = utc_of(year, month, day, 12 - local_mean_time_h(site));
  return {noon, after(noon, 86'400)};
}

Interval midnight_to_midnight(const Site& site, int year, int month, int day) {
  const Utc midnight = utc_of(year, month, day, -local_mean_time_h(site));
  return {midnight, after(midnight, 86'400)};
}

double rising_altitude_deg(Body body, const Observer& observer) {
  const double radius = 0.5 * aspect_of(body, observer).equatorial_arcsec / kArcsecPerDegree;
  return -kRefraction_deg - radius;
}

double sun_altitude_deg(Twilight twilight) {
  switch (twilight) {
    case Twilight::civil:
      return -6;
    case Twilight::nautical:
      return -12;
    case Twilight::astronomical:
      return -18;
  }
  throw std::logic_error("no such twilight");
}

Intervals when_up(Body body, const Night& night) {
  const Observer& middle = night.observers()[night.observers().size() / 2];
  return night.above(night.altitudes_deg(body), rising_altitude_deg(body, middle));
}

}  // namespace lull::sky
