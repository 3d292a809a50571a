#include <fmt/format.h>

#include <chrono>
#include <cmath>

#include "core/error.h"
#include "files/atomic_file.h"
#include "run/object.h"
#include "run/option_kinds.h"
#include "run/outputs.h"
#include "run/plan_outcome.h"

namespace lull::run {

namespace {

using sky::Body;

constexpr double kNearSun_deg = 20;

// The date at the site by mean time, counted from noon: an evening's date until the next noon.
std::string evening_of(Utc now, const sky::Site& site) {
  return iso8601(after(now, 240 * site.longitude_deg - 12 * 3600.0), 0).substr(0, 10);
}

struct Date {
  int year;
  int month;
  int day;
};

Date parts_of(const std::string& date) {
  return {std::stoi(date.substr(0, 4)), std::stoi(date.substr(5, 2)), std::stoi(date.substr(8, 2))};
}

bool is_near_sun(const TargetPlan& plan) {
  return plan.body != Body::sun && plan.body != Body::moon &&
         std::abs(plan.elongation_deg) < kNearSun_deg;
}

std::string caution_for(const std::vector<TargetPlan>& plans) {
  for (const TargetPlan& plan : plans) {
    if (plan.body == Body::sun) return sun_caution(Object::sun, {}, health::Kind::disc);
  }
  for (const TargetPlan& plan : plans) {
    if (!is_near_sun(plan)) continue;
    return fmt::format(
        "{} stands {:.0f} degrees from the Sun: look for it only while the Sun is below the "
        "horizon. Never sweep near the Sun without a certified full-aperture filter in front of "
        "the optics. Follow the maker's and local guidance.",
        sky::body_title(plan.body), std::abs(plan.elongation_deg));
  }
  return {};
}

}  // namespace

PlanOutcome make_plan(const PlanRequest& request, Utc now) {
  check_complete(plan_options(), request);
  const std::vector<Body> bodies = planned_bodies(request);
  if (!request.site)
    throw UsageError(
        "--site LAT,LON is missing: where you stand, in degrees, north and east positive, such as "
        "--site 46.5,8.25,1650");
  PlanOutcome outcome;
  outcome.site = *request.site;
  outcome.zone = sky::Zone(request.zone);
  outcome.date = request.date.empty() ? evening_of(now, outcome.site) : request.date;
  outcome.signal_to_noise = request.signal_to_noise;
  const auto [year, month, day] = parts_of(outcome.date);
  const sky::Night night(outcome.site, sky::noon_to_noon(outcome.site, year, month, day));
  outcome.night = night.span();
  const std::vector<double> sun = night.altitudes_deg(Body::sun);
  outcome.dark = night.below(sun, sky::sun_altitude_deg(sky::Twilight::astronomical));
  outcome.sun_up = sky::when_up(Body::sun, night);
  for (const Body body : bodies) {
    if (body == Body::sun) {
      const auto span = sky::midnight_to_midnight(outcome.site, year, month, day);
      outcome.targets.push_back(plan_target(body, sky::Night(outcome.site, span), request));
    } else {
      outcome.targets.push_back(plan_target(body, night, request));
    }
  }
  outcome.caution = caution_for(outcome.targets);
  if (!request.instrument.optics())
    outcome.notes.emplace_back(
        "give --aperture, --focal-length and --pixel, or a profile, for pixels, exposures and how "
        "long a capture may take");
  return outcome;
}

PlanOutcome run_plan(const PlanRequest& request, const RunControl& control) {
  check_results({request.plot}, {}, control.resources);
  const auto since_1970 = std::chrono::duration_cast<std::chrono::seconds>(
      std::chrono::system_clock::now().time_since_epoch());
  const Utc now = after(sky::utc_of(1970, 1, 1), static_cast<double>(since_1970.count()));
  if (request.date.empty() && !sky::is_covered(now))
    throw UsageError("this computer's clock is not within the years 1950 to 2100; give --date");
  PlanOutcome outcome = make_plan(request, now);
  if (request.plot.empty()) return outcome;
  files::Results results;
  const std::string svg = plan_plot(outcome);
  results.add(request.plot,
              [&](const std::filesystem::path& path) { files::write_file(path, svg); });
  outcome.written = {request.plot};
  commit(results, control.resources);
  return outcome;
}

}  // namespace lull::run
