#include <cmath>
#include <nlohmann/json.hpp>

#include "run/plan_outcome.h"

namespace lull::run {

namespace {

using nlohmann::json;

json moment_json(const std::optional<Utc>& moment) {
  return moment ? json(iso8601(*moment, 0) + "Z") : json();
}

json intervals_json(const sky::Intervals& intervals) {
  json out = json::array();
  for (const sky::Interval& interval : intervals)
    out.push_back({moment_json(interval.from), moment_json(interval.to)});
  return out;
}

json point_json(const sky::SurfacePoint& point) {
  return {{"longitude_deg", point.longitude_deg},
          {"planetographic_latitude_deg", point.latitude_deg},
          {"planetocentric_latitude_deg", point.centric_latitude_deg}};
}

json aspect_json(const TargetPlan& plan) {
  const sky::Aspect& aspect = plan.aspect;
  json out = {{"distance_au", aspect.distance_au},
              {"equatorial_arcsec", aspect.equatorial_arcsec},
              {"polar_arcsec", aspect.polar_arcsec},
              {"pole_deg", aspect.pole_deg},
              {"below_observer", point_json(aspect.below_observer)}};
  if (plan.body == sky::Body::sun) return out;
  out["sun_distance_au"] = aspect.sun_distance_au;
  out["phase_deg"] = aspect.phase_deg;
  out["lit"] = aspect.lit;
  out["bright_limb_deg"] = aspect.bright_limb_deg;
  out["below_sun"] = point_json(aspect.below_sun);
  out["elongation_deg"] = plan.elongation_deg;
  return out;
}

json face_json(const TargetPlan& plan) {
  json meridians = json::array();
  for (const Meridian& meridian : plan.meridians)
    meridians.push_back(
        {{"system", number_of(meridian.system)}, {"longitude_deg", meridian.longitude_deg}});
  json storms = json::array();
  for (const StormPassages& storm : plan.storms) {
    json passes = json::array();
    for (const Utc at : storm.passes) passes.push_back(moment_json(at));
    storms.push_back({{"name", storm.name},
                      {"system", number_of(storm.stands.system)},
                      {"longitude_deg", storm.stands.longitude_deg},
                      {"passes", passes}});
  }
  json out = {{"central_meridians", meridians},
              {"turning_deg_per_hour", plan.turning_deg_per_hour},
              {"series_minutes", is_derotated(plan.body) ? json(plan.series_minutes()) : json()},
              {"storms", storms}};
  if (plan.rings)
    out["rings"] = {{"tilt_deg", plan.rings->tilt_deg},
                    {"sun_tilt_deg", plan.rings->sun_tilt_deg},
                    {"outer_major_arcsec", plan.rings->outer_major_arcsec},
                    {"outer_minor_arcsec", plan.rings->outer_minor_arcsec},
                    {"lit", plan.rings->lit()}};
  if (plan.moon)
    out["moon"] = {{"libration_longitude_deg", plan.moon->libration_longitude_deg},
                   {"libration_latitude_deg", plan.moon->libration_latitude_deg},
                   {"turned_in_deg", plan.moon->libration_direction_deg()},
                   {"colongitude_deg", plan.moon->colongitude_deg},
                   {"sun_latitude_deg", plan.moon->sun_latitude_deg},
                   {"morning_terminator_deg", plan.moon->morning_terminator_deg},
                   {"evening_terminator_deg", plan.moon->evening_terminator_deg}};
  if (plan.sun)
    out["sun"] = {{"p_deg", plan.sun->pole_deg},
                  {"b0_deg", plan.sun->latitude_deg},
                  {"l0_deg", plan.sun->longitude_deg},
                  {"rotation", plan.sun->rotation}};
  return out;
}

json band_json(const NamedBand& named) {
  return {{"name", named.name}, {"from_nm", named.band.from_nm}, {"to_nm", named.band.to_nm}};
}

json dispersion_json(const std::vector<BandDispersion>& dispersion) {
  json out = json::array();
  for (const BandDispersion& band : dispersion)
    out.push_back({{"filter", band_json(band.band)},
                   {"spread_arcsec", band.spread_arcsec},
                   {"corrected_arcsec", band.corrected_arcsec},
                   {"at_30_arcsec", band.at_30_arcsec}});
  return out;
}

json recording_json(const std::optional<RecordingPlan>& plan) {
  if (!plan) return nullptr;
  json smears = json::array();
  for (const Smear& smear : plan->smears)
    smears.push_back(
        {{"where", smear.where}, {"half_px_s", smear.half_px_s}, {"one_px_s", smear.one_px_s}});
  json exposures = json::array();
  for (const BandExposure& one : plan->exposures)
    exposures.push_back({{"filter", band_json(one.band)},
                         {"px_per_lambda_over_d", one.px_per_lambda_over_d},
                         {"electrons_per_ms", one.electrons_per_ms},
                         {"exposure_ms", one.exposure_ms},
                         {"electrons", one.electrons},
                         {"frames", one.frames},
                         {"half_detail_s", one.half_detail_s}});
  return {{"arcsec_per_px", plan->scale_arcsec_per_px},
          {"diameter_px", plan->diameter_px},
          {"height_px", plan->height_px},
          {"px_per_lambda_over_d", plan->px_per_lambda_over_d},
          {"extender_least", plan->extender_least},
          {"extender_most", plan->extender_most},
          {"surface_brightness_mag", plan->surface_brightness_mag},
          {"smears", smears},
          {"exposures", exposures}};
}

json panels_json(const std::optional<PanelPlan>& plan) {
  if (!plan) return nullptr;
  json panels = json::array();
  for (const sky::SkyPanel& panel : plan->panels)
    panels.push_back({{"number", panels.size() + 1},
                      {"east_arcsec", panel.middle.east_arcsec},
                      {"north_arcsec", panel.middle.north_arcsec},
                      {"on_terminator", panel.on_terminator}});
  return {{"width_arcsec", plan->field.width_arcsec},
          {"height_arcsec", plan->field.height_arcsec},
          {"north_deg", plan->field.north_deg},
          {"overlap_percent", 100 * plan->overlap},
          {"in_order", panels}};
}

json target_json(const TargetPlan& plan) {
  json best = nullptr;
  if (plan.best)
    best = {{"at", moment_json(plan.best->at)},
            {"altitude_deg", plan.best->altitude_deg},
            {"azimuth_deg", plan.best->azimuth_deg}};
  return {{"target", sky::body_name(plan.body)},
          {"up", intervals_json(plan.up)},
          {"transit", moment_json(plan.transit)},
          {"recordable", intervals_json(plan.recordable)},
          {"hours_above_20", plan.hours_above_20},
          {"hours_above_30", plan.hours_above_30},
          {"best", best},
          {"described", moment_json(plan.described)},
          {"aspect", aspect_json(plan)},
          {"face", face_json(plan)},
          {"dispersion", dispersion_json(plan.dispersion)},
          {"recording", recording_json(plan.recording)},
          {"panels", panels_json(plan.panels)}};
}

}  // namespace

json to_json(const PlanOutcome& outcome) {
  json targets = json::array();
  for (const TargetPlan& plan : outcome.targets) targets.push_back(target_json(plan));
  return {{"site",
           {{"latitude_deg", outcome.site.latitude_deg},
            {"longitude_deg", outcome.site.longitude_deg},
            {"height_m", outcome.site.height_m}}},
          {"date", outcome.date},
          {"zone", outcome.zone.is_utc() ? json("UTC") : json(outcome.zone.name())},
          {"dark", intervals_json(outcome.dark)},
          {"sun_up", intervals_json(outcome.sun_up)},
          {"signal_to_noise", outcome.signal_to_noise},
          {"targets", targets},
          {"rules_of_thumb",
           {"recordable", "series_minutes", "extender_most", "exposures", "default filters",
            "default overlap"}},
          {"caution", outcome.caution.empty() ? json() : json(outcome.caution)},
          {"notes", outcome.notes},
          {"written", outcome.written}};
}

}  // namespace lull::run
