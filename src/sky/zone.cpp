#include "sky/zone.h"

#include <date/tz.h>

#include <chrono>
#include <stdexcept>

#include "core/choices.h"
#include "profile/time_zone.h"

namespace lull::sky {

namespace {

namespace chrono = std::chrono;

constexpr double kHalfMinute_s = 30;

chrono::sys_seconds system_time(Utc moment) {
  constexpr std::int64_t kEpoch_s = 62'135'596'800;  // 1970-01-01 since 0001-01-01
  return chrono::sys_seconds(chrono::seconds(moment.ticks / kTicksPerSecond - kEpoch_s));
}

}  // namespace

Zone::Zone(const std::string& name) : name_(name), fixed_min_(profile::fixed_offset_min(name)) {
  if (is_utc() || fixed_min_) return;
  try {
    static_cast<void>(date::locate_zone(name));
  } catch (const std::runtime_error&) {
    throw invalid_value("--zone", name,
                        "a name of the system's time zone database, such as "
                        "Europe/Lisbon, or a difference such as +01:00");
  }
}

double Zone::offset_s(Utc moment) const {
  if (is_utc()) return 0;
  if (fixed_min_) return 60.0 * *fixed_min_;
  const auto info = date::locate_zone(name_)->get_info(system_time(moment));
  return static_cast<double>(info.offset.count());
}

std::string Zone::minute_of(Utc moment) const {
  std::string text = iso8601(after(moment, offset_s(moment) + kHalfMinute_s), 0);
  text.resize(text.size() - 3);  // the seconds
  text[text.find('T')] = ' ';
  return text;
}

std::string Zone::clock_of(Utc moment) const { return minute_of(moment).substr(11); }

}  // namespace lull::sky
