#include <nlohmann/json.hpp>

#include "files/name_text.h"
#include "run/inspect_outcome.h"

namespace lull::run {

namespace {

using nlohmann::json;

json line_json(const health::RobustLine& line) {
  return {{"slope", line.slope}, {"low", line.slope_low}, {"high", line.slope_high}};
}

json timing_json(const std::optional<health::Timing>& timing) {
  if (!timing) return nullptr;
  return {{"duration_s", timing->duration_s},
          {"frames_per_s", timing->frames_per_s()},
          {"gaps", timing->gaps},
          {"missing_frames", timing->missing_frames},
          {"longest_gap_s", timing->longest_gap_s},
          {"longest_gap_at_s", timing->longest_gap_at_s},
          {"unevenness", timing->unevenness},
          {"too_coarse", timing->too_coarse},
          {"backwards", timing->backwards}};
}

json place_json(const health::Place& place) {
  json extent = nullptr;
  if (place.extent) extent = {place.extent->width_px, place.extent->height_px};
  return {{"kind", health::kind_name(place.kind)},
          {"frame_share", place.frame_share},
          {"extent_px", extent},
          {"cut_frames", place.cut_frames}};
}

json exposure_json(const InspectOutcome& outcome) {
  static constexpr const char* kRgb[] = {"red", "green", "blue"};
  const health::Exposure& exposure = outcome.health.exposure;
  json channels = json::array();
  for (std::size_t c = 0; c < exposure.channels.size(); ++c) {
    const auto& channel = exposure.channels[c];
    channels.push_back({{"channel", exposure.channels.size() == 3 ? kRgb[c] : "light"},
                        {"saturated", channel.saturated},
                        {"at_zero", channel.at_zero},
                        {"clipped_at_zero", channel.piled_at_zero},
                        {"lowest", channel.lowest},
                        {"middle", channel.median},
                        {"brightest", channel.brightest},
                        {"skipped_levels", channel.skipped}});
  }
  return {{"saturated_frames", exposure.saturated_frames},
          {"brightest", exposure.brightest()},
          {"unused_range", exposure.unused_share()},
          {"calibrated", outcome.health.samples == health::Samples::calibrated},
          {"channels", channels}};
}

json noise_json(const std::optional<health::PhotonTransfer>& noise) {
  if (!noise) return nullptr;
  json points = json::array();
  for (const auto& point : noise->points)
    points.push_back({{"level_adu", point.level_adu}, {"variance_adu2", point.variance_adu2}});
  json gain = nullptr;
  json error = nullptr;
  if (noise->gain_e_per_adu) {
    gain = *noise->gain_e_per_adu;
    error = *noise->gain_e_per_adu * noise->gain_error;
  }
  return {{"gain_e_per_adu", gain},
          {"gain_error_e_per_adu", error},
          {"darkest_noise_adu", noise->darkest_noise_adu},
          {"whiteness", noise->whiteness},
          {"photon_transfer", points}};
}

json pattern_json(const std::optional<health::Pattern>& pattern) {
  if (!pattern) return nullptr;
  return {{"columns_rms_adu", pattern->columns_adu},
          {"rows_rms_adu", pattern->rows_adu},
          {"significant", pattern->significant}};
}

json motion_json(const InspectOutcome& outcome) {
  const auto& motion = outcome.health.motion;
  if (!motion) return nullptr;
  json speed = nullptr;
  json jitter = nullptr;
  if (motion->jitter_px) jitter = *motion->jitter_px;
  if (motion->jitter_px && outcome.health.timing)
    speed = *motion->jitter_px * outcome.health.timing->frames_per_s();
  return {{"unit", motion->unit == health::DriftUnit::px_per_s ? "px/s" : "px/frame"},
          {"drift_x", line_json(motion->x)},
          {"drift_y", line_json(motion->y)},
          {"jitter_px", jitter},
          {"jitter_px_per_s", speed},
          {"range_px", {motion->range.x_px, motion->range.y_px}}};
}

json trend_json(const std::optional<health::Trend>& trend) {
  if (!trend) return nullptr;
  return {{"change", trend->change},
          {"change_low", trend->change_low},
          {"change_high", trend->change_high},
          {"significant", trend->significant},
          {"best_over_middle", trend->best_over_median},
          {"best_tenth_over_middle", trend->tenth_over_median}};
}

json step_json(const std::optional<health::Step>& step) {
  if (!step) return nullptr;
  return {{"frame", step->from}, {"change", step->change}};
}

json steadiness_json(const std::optional<health::Steadiness>& steadiness) {
  if (!steadiness) return nullptr;
  return {{"light_step", step_json(steadiness->light)},
          {"sharpness_step", step_json(steadiness->sharpness)},
          {"light_spread", steadiness->light_spread}};
}

json interlace_json(const std::optional<health::Interlace>& interlace) {
  if (!interlace) return nullptr;
  return {{"shift_px", interlace->shift_px}, {"chance_px", interlace->chance_px}};
}

json detail_json(const InspectOutcome& outcome) {
  const auto& detail = outcome.health.detail;
  json out = {{"limit_cycles_per_px", nullptr},
              {"reaches_nyquist", false},
              {"trusted", true},
              {"spectrum", nullptr}};
  if (detail) {
    if (detail->limit) out["limit_cycles_per_px"] = *detail->limit;
    out["reaches_nyquist"] = detail->to_the_end;
    out["trusted"] = detail->noise_usable;
    json rings = json::array();
    for (const auto& ring : detail->rings) rings.push_back({ring.frequency, ring.power});
    out["spectrum"] = rings;
  }
  if (outcome.optics) {
    out["px_per_lambda_over_d"] = outcome.optics->px_per_lambda_over_d();
    out["arcsec_per_px"] = outcome.optics->scale_arcsec_per_px();
    if (detail && detail->limit)
      out["limit_over_cutoff"] = *detail->limit / outcome.optics->cutoff_cycles_per_px();
  }
  return out;
}

json counts_json(const survey::Survey& survey) {
  json out = json::object();
  for (const Reject reason : {Reject::damaged, Reject::black, Reject::saturated,
                              Reject::lost_target, Reject::weak_peak, Reject::doubled})
    out[std::string(reject_name(reason))] = survey.count(reason);
  return out;
}

}  // namespace

json to_json(const InspectOutcome& outcome) {
  const capture::CaptureInfo& info = outcome.info;
  const health::Health& health = outcome.health;
  json findings = json::array();
  for (const auto& finding : outcome.findings)
    findings.push_back({{"name", finding.name}, {"what", finding.what}, {"next", finding.next}});
  return {{"capture", files::name_text(info.path)},
          {"container", info.storage.container},
          {"codec", info.storage.codec},
          {"pixel_format", info.storage.pixel_format},
          {"width_px", info.size.width_px},
          {"height_px", info.size.height_px},
          {"rotation_deg", info.rotation_deg},
          {"colour", capture::colour_name(info.colour)},
          {"cfa", capture::cfa_name(info.cfa)},
          {"true_bits", info.bits.used},
          {"stored_bits", info.bits.stored},
          {"high_aligned", info.bits.high_aligned},
          {"header_frames", info.storage.header_frames},
          {"header_frames_per_s", info.times.frames_per_s},
          {"frames", health.survey.records.size()},
          {"usable", health.survey.usable()},
          {"left_out", counts_json(health.survey)},
          {"time", timing_json(health.timing)},
          {"begun_utc", info.times.begun ? json(iso8601(*info.times.begun) + "Z") : json()},
          {"begun_source", info.times.begun ? json(info.times.begun_source) : json()},
          {"timecode", info.times.timecode.empty() ? json() : json(info.times.timecode)},
          {"exposure_s", info.times.exposure_s > 0 ? json(info.times.exposure_s) : json()},
          {"target", place_json(health.place)},
          {"exposure", exposure_json(outcome)},
          {"noise", noise_json(health.noise)},
          {"pattern_noise", pattern_json(health.pattern)},
          {"motion", motion_json(outcome)},
          {"sharpness", trend_json(health.trend)},
          {"steadiness", steadiness_json(health.steadiness)},
          {"interlace", interlace_json(health.interlace)},
          {"detail", detail_json(outcome)},
          {"caution", outcome.caution.empty() ? json() : json(outcome.caution)},
          {"notes", info.notes},
          {"findings", findings}};
}

}  // namespace lull::run
