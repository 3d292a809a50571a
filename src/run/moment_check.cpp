#include "run/moment_check.h"

#include <fmt/format.h>

#include <chrono>

#include "core/error.h"
#include "sky/horizon.h"
#include "sky/moment.h"
#include "sky/zone.h"

namespace lull::run {

namespace {

constexpr double kLifted_deg = -1;      // with refraction, and a low horizon
constexpr double kClocksApart_s = 300;  // that is no mistake
constexpr double kSecondsPerHour = 3600;

double altitude_deg(sky::Body body, Utc moment, const sky::Site& site) {
  return sky::horizontal(body, sky::Observer(moment, site)).altitude_deg;
}

// What the moment would be if it were meant in the zone.
std::string if_local(const NamedMoment& one, sky::Body body, const TakenAt& place) {
  if (place.zone.empty()) return "";
  const double offset_s = sky::Zone(place.zone).offset_s(one.moment);
  if (offset_s == 0) return "";
  const double altitude = altitude_deg(body, after(one.moment, -offset_s), *place.site);
  if (altitude < kLifted_deg) return "";
  return fmt::format(
      " If it is local time of {}, the planet stood {:.0f} degrees high: take {:g} h off",
      place.zone, altitude, offset_s / kSecondsPerHour);
}

void check_height(const NamedMoment& one, sky::Body body, const TakenAt& place) {
  const double altitude = altitude_deg(body, one.moment, *place.site);
  if (altitude >= kLifted_deg) return;
  throw InputError(fmt::format(
      "'{}' is of {} UTC, when {} stands {:.0f} degrees below the horizon of the site. Was the "
      "clock set to local time, or is the site another?{}",
      one.name, iso8601(one.moment, 0), sky::body_title(body), -altitude,
      if_local(one, body, place)));
}

}  // namespace

std::vector<std::string> check_moments(const std::vector<NamedMoment>& moments, sky::Body body,
                                       const TakenAt& place, Utc now) {
  std::vector<std::string> notes;
  for (const NamedMoment& one : moments) {
    if (place.site) check_height(one, body, place);
    if (notes.empty() && seconds_between(now, one.moment) > kClocksApart_s)
      notes.push_back(fmt::format(
          "'{}' is of {} UTC, which is yet to come by this machine's clock: is the camera's clock "
          "set to local time?",
          one.name, iso8601(one.moment, 0)));
  }
  return notes;
}

Utc time_now() {
  const auto since = std::chrono::system_clock::now().time_since_epoch();
  return after(sky::utc_of(1970, 1, 1), std::chrono::duration<double>(since).count());
}

}  // namespace lull::run
