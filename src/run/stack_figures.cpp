#include "run/stack_figures.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "core/statistics.h"
#include "run/metric_json.h"
#include "run/resolution.h"

namespace lull::run {

namespace {

nlohmann::json pattern_json(const Opened& opened) {
  if (opened.pattern.planes.empty()) return nullptr;
  return {{"columns_rms_adu", opened.pattern.columns_rms_adu()},
          {"rows_rms_adu", opened.pattern.rows_rms_adu()},
          {"taken_off", opened.pattern_removed ? opened.pattern.text() : ""}};
}

nlohmann::json spread_json(const Plane& plane) {
  std::vector<double> values;
  for (int y = 0; y < plane.height(); ++y)
    values.insert(values.end(), plane.row(y), plane.row(y) + plane.width());
  const auto [least, most] = std::minmax_element(values.begin(), values.end());
  nlohmann::json out = {{"min", *least}, {"max", *most}};
  out["median"] = upper_median(std::move(values));
  return out;
}

nlohmann::json value_or_null(const std::optional<double>& value) {
  return value ? nlohmann::json(*value) : nlohmann::json();
}

void add_resolution(nlohmann::json& out, const std::string& name,
                    const std::optional<Resolution>& resolution) {
  const Resolution known = resolution.value_or(Resolution{});
  out[name + "_px"] = resolution ? nlohmann::json(known.period_px) : nlohmann::json();
  out[name + "_arcsec"] = value_or_null(known.period_arcsec);
  out[name + "_cutoff_share"] = value_or_null(known.cutoff_share);
}

nlohmann::json enlarged_json(const stack::StackResult& result) {
  if (!result.enlarged) return nullptr;
  const stack::Enlargement& how = result.enlarged->enlargement;
  return {{"scale", how.scale},
          {"pixfrac", how.pixfrac},
          {"noise_correlation", how.noise_correlation()},
          {"filled_share", result.enlarged->filled}};
}

}  // namespace

nlohmann::json stack_figures(const Opened& opened, const survey::Survey& survey,
                             const stack::StackResult& result,
                             const std::optional<health::Optics>& optics) {
  nlohmann::json rings = nlohmann::json::array();
  for (const auto& ring : result.frc.rings) {
    rings.push_back({{"cycles_per_px", ring.frequency}, {"correlation", ring.correlation}});
  }
  nlohmann::json steps = nlohmann::json::array();
  for (const auto& step : result.steps) {
    steps.push_back({{"frames", step.frames},
                     {"information_bits", step.information_bits},
                     {"resolution_cycles_per_px", step.resolution}});
    if (!step.expected) continue;
    steps.back()["expected_blur_error"] = step.expected->blur;
    steps.back()["expected_noise_error"] = step.expected->noise;
  }
  nlohmann::json ratio = nlohmann::json::array();
  for (const auto& ring : result.ratio) {
    ratio.push_back({{"cycles_per_px", ring.frequency},
                     {"kept_power", ring.kept_power},
                     {"frame_power", ring.frame_power},
                     {"frame_noise", ring.frame_noise}});
  }
  nlohmann::json dispersion = nlohmann::json::array();
  for (const auto& colour : result.colours)
    dispersion.push_back({colour.dispersion.x_px, colour.dispersion.y_px});
  nlohmann::json out = {{"frames", survey.records.size()},
                        {"usable", survey.usable()},
                        {"kept", result.kept.size()},
                        {"target", quality::target_name(survey.target.kind)},
                        {"patch_px", result.patch_px},
                        {"fusion", result.fused ? "frequency" : "selection"},
                        {"noise", result.noise},
                        {"outlier_samples", result.outliers},
                        {"local_shift_rms_px", result.local_shift_rms_px},
                        {"crop", {result.crop.x0, result.crop.y0, result.crop.x1, result.crop.y1}},
                        {"frc", rings},
                        {"keep_steps", steps},
                        {"spectral_ratio", ratio},
                        {"dispersion_px", dispersion},
                        {"kept_frames", result.kept}};
  add_metric(survey, out);
  out["effective_frames"] = spread_json(result.effective_frames.values);
  add_resolution(out, "resolution", resolution_of(result.frc, optics));
  add_resolution(out, "half_bit_resolution", half_bit_resolution_of(result.frc, optics));
  for (const Reject reason : {Reject::damaged, Reject::black, Reject::saturated, Reject::doubled,
                              Reject::lost_target, Reject::weak_peak}) {
    out["left_out"][std::string(reject_name(reason))] = survey.count(reason);
  }
  out["enlarged"] = enlarged_json(result);
  out["arcsec_per_px"] = optics ? nlohmann::json(optics->scale_arcsec_per_px()) : nlohmann::json();
  out["pattern_noise"] = pattern_json(opened);
  return out;
}

}  // namespace lull::run
