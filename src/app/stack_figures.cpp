#include "app/stack_figures.h"

#include <string>

namespace lull::app {

namespace {

nlohmann::json pattern_json(const Opened& opened) {
  if (opened.pattern.planes.empty()) return nullptr;
  return {{"columns_rms_adu", opened.pattern.columns_rms_adu()},
          {"rows_rms_adu", opened.pattern.rows_rms_adu()},
          {"taken_off", opened.pattern_removed ? opened.pattern.words() : ""}};
}

}  // namespace

nlohmann::json stack_figures(const Opened& opened, const stack::Survey& survey,
                             const stack::StackResult& result) {
  nlohmann::json rings = nlohmann::json::array();
  for (const auto& ring : result.frc.rings) {
    rings.push_back({{"cycles_per_px", ring.frequency}, {"correlation", ring.correlation}});
  }
  nlohmann::json steps = nlohmann::json::array();
  for (const auto& step : result.steps) {
    steps.push_back({{"frames", step.frames},
                     {"information_bits", step.information_bits},
                     {"resolution_cycles_per_px", step.resolution}});
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
  const auto resolution = result.frc.resolution();
  const auto half_bit = result.frc.half_bit_resolution();
  nlohmann::json out = {{"frames", survey.records.size()},
                        {"usable", survey.usable()},
                        {"kept", result.kept.size()},
                        {"target", quality::target_name(survey.target.kind)},
                        {"metric", quality::metric_name(survey.metric)},
                        {"patch_px", result.patch_px},
                        {"fusion", result.fused ? "frequency" : "selection"},
                        {"noise", result.noise},
                        {"local_shift_rms_px", result.local_shift_rms_px},
                        {"crop", {result.crop.x0, result.crop.y0, result.crop.x1, result.crop.y1}},
                        {"frc", rings},
                        {"keep_steps", steps},
                        {"spectral_ratio", ratio},
                        {"dispersion_px", dispersion},
                        {"kept_frames", result.kept}};
  out["resolution_px"] = resolution ? nlohmann::json(1 / *resolution) : nlohmann::json();
  out["half_bit_resolution_px"] = half_bit ? nlohmann::json(1 / *half_bit) : nlohmann::json();
  for (const Reject reason : {Reject::damaged, Reject::black, Reject::saturated, Reject::doubled,
                              Reject::lost_target, Reject::weak_peak}) {
    out["left_out"][std::string(reject_name(reason))] = survey.count(reason);
  }
  out["pattern_noise"] = pattern_json(opened);
  return out;
}

}  // namespace lull::app
