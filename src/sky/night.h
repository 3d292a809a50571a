#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "sky/body.h"
#include "sky/observer.h"

namespace lull::sky {

struct Interval {
  Utc from;
  Utc to;

  [[nodiscard]] double hours() const { return seconds_between(from, to) / 3600; }
};

/// In order of time, and apart.
using Intervals = std::vector<Interval>;

/// What is in both.
[[nodiscard]] Intervals both(const Intervals& a, const Intervals& b);

[[nodiscard]] double hours_of(const Intervals& intervals);

/// A stretch of time at a site, with an observer every five minutes. Between them values are taken
/// as straight: moments of crossings are good to some seconds.
class Night {
 public:
  Night(Site site, Interval span);

  [[nodiscard]] const Site& site() const { return site_; }

  [[nodiscard]] const Interval& span() const { return span_; }

  [[nodiscard]] const std::vector<Observer>& observers() const { return observers_; }

  /// Without refraction.
  [[nodiscard]] std::vector<double> altitudes_deg(Body body) const;

  /// When the values of the observers lie above a level.
  [[nodiscard]] Intervals above(const std::vector<double>& values, double level) const;

  [[nodiscard]] Intervals below(const std::vector<double>& values, double level) const;

  /// When the body passes the meridian, above the pole's altitude or under it (upper transit).
  [[nodiscard]] std::optional<Utc> transit(Body body) const;

 private:
  [[nodiscard]] Utc between(std::size_t i, double part) const;

  Site site_;
  Interval span_;
  std::vector<Observer> observers_;
};

/// From noon to noon of local mean time, around the night that begins on the evening of this date.
[[nodiscard]] Interval noon_to_noon(const Site& site, int year, int month, int day);

/// From midnight to midnight of local mean time, around the day of this date.
[[nodiscard]] Interval midnight_to_midnight(const Site& site, int year, int month, int day);

/// Altitude of the middle of a body when its upper limb is seen on the horizon, without refraction:
/// 34 arcmin of refraction (Explanatory Supplement to the Astronomical Almanac) and the radius.
[[nodiscard]] double rising_altitude_deg(Body body, const Observer& observer);

/// Sun below -6, -12 and -18 degrees.
enum class Twilight { civil, nautical, astronomical };

[[nodiscard]] double sun_altitude_deg(Twilight twilight);

/// When the upper limb is above the horizon.
[[nodiscard]] Intervals when_up(Body body, const Night& night);

}  // namespace lull::sky
