#pragma once

#include "core/utc.h"

namespace lull::sky {

/// Julian date in two parts, whose sum it is; so it keeps a microsecond.
struct JulianDate {
  double whole = 0;  ///< ends in .5: midnight
  double part = 0;   ///< of a day

  [[nodiscard]] double sum() const { return whole + part; }
};

/// A moment in the time scales that ephemerides want.
struct Moment {
  Utc utc;
  /// Terrestrial time. Barycentric dynamical time is taken as the same: they differ by less than
  /// 2 ms.
  JulianDate terrestrial;
  /// Rotation of the Earth, UT1. UTC is taken for it: they differ by less than 0.9 s, which is 13
  /// arcsec in azimuth and nothing in the place among the stars.
  JulianDate universal;

  /// Since 2000-01-01T12:00 of terrestrial time, less `earlier_s`.
  [[nodiscard]] double days_since_2000(double earlier_s = 0) const;
};

/// Leap seconds are ERFA's; before 1960 there was no UTC, and universal time is taken instead
/// (up to 3 s off), in years to come the last known difference stays.
[[nodiscard]] Moment moment_of(Utc utc);

/// Years for which the theories behind this folder hold: 1950 to 2100.
[[nodiscard]] bool is_covered(Utc utc);

/// Civil date of UTC; `hour` counts on past a day or below 0.
[[nodiscard]] Utc utc_of(int year, int month, int day, double hour = 0);

}  // namespace lull::sky
