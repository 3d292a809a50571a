#include "run/target_plan.h"

namespace lull::run {

namespace {

using sky::Body;
using sky::LongitudeSystem;

// Below this, dispersion and air mass have no use for a plan.
constexpr double kLeastAltitude_deg = 5;

void describe_face(TargetPlan& plan, const sky::Observer& observer) {
  plan.aspect = sky::aspect_of(plan.body, observer);
  plan.turning_deg_per_hour =
      sky::turning_deg_per_hour(plan.body, observer, systems_of(plan.body).front());
  if (plan.body != Body::sun) plan.elongation_deg = sky::elongation_deg(plan.body, observer);
  for (const LongitudeSystem system : systems_of(plan.body))
    plan.meridians.push_back({system, sky::central_meridian_deg(plan.body, observer, system)});
  if (plan.body == Body::saturn) plan.rings = sky::rings_of_saturn(observer);
  if (plan.body == Body::moon) plan.moon = sky::moon_face(observer);
  if (plan.body == Body::sun) plan.sun = sky::sun_face(observer);
}

void follow_storms(TargetPlan& plan, const sky::Night& night, const std::vector<Storm>& storms) {
  for (const Storm& storm : storms) {
    if (storm.body != plan.body) continue;
    const double longitude = storm.longitude_at(plan.described);
    plan.storms.push_back(
        {storm.name,
         {storm.system, longitude},
         sky::passages(plan.body, storm.system, longitude, night, plan.recordable)});
  }
}

}  // namespace

bool is_derotated(Body body) {
  return body == Body::mars || body == Body::jupiter || body == Body::saturn ||
         body == Body::uranus || body == Body::neptune;
}

std::vector<LongitudeSystem> systems_of(Body body) {
  if (body == Body::jupiter)
    return {LongitudeSystem::one, LongitudeSystem::two, LongitudeSystem::three};
  return {LongitudeSystem::three};
}

TargetPlan plan_target(Body body, const sky::Night& night, const PlanRequest& request) {
  TargetPlan plan;
  plan.body = body;
  plan.span = night.span();
  plan.up = sky::when_up(body, night);
  plan.transit = night.transit(body);
  plan.recordable = sky::when_recordable(body, night);
  const std::vector<double> altitudes = night.altitudes_deg(body);
  plan.hours_above_20 = sky::hours_of(sky::both(plan.recordable, night.above(altitudes, 20)));
  plan.hours_above_30 = sky::hours_of(sky::both(plan.recordable, night.above(altitudes, 30)));
  plan.best = sky::highest(body, night, plan.recordable);
  plan.described = plan.best ? plan.best->at : after(plan.span.from, 1800 * plan.span.hours());
  const sky::Observer observer(plan.described, night.site());
  describe_face(plan, observer);
  follow_storms(plan, night, request.storms);
  const std::vector<NamedBand>& bands = request.bands.empty() ? default_bands() : request.bands;
  if (plan.best && plan.best->altitude_deg > kLeastAltitude_deg)
    plan.dispersion =
        dispersion_of(bands, plan.best->altitude_deg, sky::air_at(night.site().height_m));
  if (const auto optics = request.instrument.optics())
    plan.recording = plan_recording(plan.body, observer, *optics, bands, request.signal_to_noise);
  if (request.panels == PanelChoice::yes)
    plan.panels = plan_panels(plan.body, plan.aspect, request);
  return plan;
}

}  // namespace lull::run
