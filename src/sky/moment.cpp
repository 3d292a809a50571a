#include "sky/moment.h"

#include <erfa.h>

#include <chrono>

#include "core/assert.h"

namespace lull::sky {

namespace {

namespace chrono = std::chrono;

constexpr std::int64_t kTicksPerDay = 86'400 * kTicksPerSecond;
constexpr double kFirstDay = 1721425.5;  // Julian date of 0001-01-01, Gregorian
constexpr double kNoon2000 = 2451545.0;
constexpr double kTerrestrialLessAtomic_s = 32.184;
constexpr double kSecondsPerDay = 86'400;
constexpr double kMargin_s = 2 * kSecondsPerDay;

chrono::sys_days first_day() { return chrono::year(1) / chrono::January / 1; }

// Atomic time less UTC.
double leap_seconds(Utc utc) {
  const chrono::year_month_day day = first_day() + chrono::days(utc.ticks / kTicksPerDay);
  double seconds = 0;
  // Its status only warns of years before 1960 and of years to come: see moment.h.
  static_cast<void>(eraDat(static_cast<int>(day.year()),
                           static_cast<int>(static_cast<unsigned>(day.month())),
                           static_cast<int>(static_cast<unsigned>(day.day())),
                           static_cast<double>(utc.ticks % kTicksPerDay) / kTicksPerDay, &seconds));
  return seconds;
}

}  // namespace

double Moment::days_since_2000(double earlier_s) const {
  return (terrestrial.whole - kNoon2000) + terrestrial.part - earlier_s / kSecondsPerDay;
}

Moment moment_of(Utc utc) {
  // A night begins before its date and ends after it.
  LULL_ASSERT(is_covered(after(utc, kMargin_s)) || is_covered(after(utc, -kMargin_s)));
  const JulianDate universal{
      kFirstDay + static_cast<double>(utc.ticks / kTicksPerDay),
      static_cast<double>(utc.ticks % kTicksPerDay) / static_cast<double>(kTicksPerDay)};
  const double later_s = leap_seconds(utc) + kTerrestrialLessAtomic_s;
  return {utc, {universal.whole, universal.part + later_s / kSecondsPerDay}, universal};
}

bool is_covered(Utc utc) { return utc >= utc_of(1950, 1, 1) && utc < utc_of(2101, 1, 1); }

Utc utc_of(int year, int month, int day, double hour) {
  const chrono::sys_days date = chrono::year(year) / chrono::month(static_cast<unsigned>(month)) /
                                chrono::day(static_cast<unsigned>(day));
  return after(Utc{(date - first_day()).count() * kTicksPerDay}, 3600 * hour);
}

}  // namespace lull::sky
