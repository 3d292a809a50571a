#include "judge/report.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

namespace lull::judge {

namespace {

using Json = nlohmann::ordered_json;
using Figure = std::function<double(const ChannelVerdict&)>;

double mean_over(const Verdict& verdict, const Figure& figure) {
  double sum = 0;
  for (const ChannelVerdict& channel : verdict.channels) sum += figure(channel);
  return sum / static_cast<double>(verdict.channels.size());
}

/// Of the picture as it is.
double mean_plain(const Verdict& verdict, double Measures::*figure) {
  return mean_over(verdict, [=](const ChannelVerdict& c) { return c.measures.*figure; });
}

double mean_undistorted(const Verdict& verdict, double Measures::*figure) {
  return mean_over(verdict, [=](const ChannelVerdict& c) { return c.without_distortion.*figure; });
}

double mean_distortion_px(const Verdict& verdict) {
  return mean_over(verdict, [](const ChannelVerdict& c) { return c.distortion_rms_px; });
}

double mean_ringing(const Verdict& verdict) {
  return mean_over(verdict, [](const ChannelVerdict& c) { return c.ringing; });
}

double mean_seam(const Verdict& verdict) {
  return mean_over(verdict, [](const ChannelVerdict& c) { return c.seam; });
}

double mean_edge(const Verdict& verdict, double EdgeError::*figure) {
  return mean_over(verdict, [=](const ChannelVerdict& c) { return c.edge.*figure; });
}

Displacement from_green(const Verdict& verdict, std::size_t channel) {
  return verdict.channels[channel].shift - verdict.channels[1].shift;
}

Json pair_of(Displacement shift) { return Json::array({shift.x_px, shift.y_px}); }

Json channel_json(const ChannelVerdict& channel) {
  const Measures& m = channel.measures;
  return {{"psnr", m.psnr},
          {"nrmse", m.nrmse},
          {"ssim", m.ssim},
          {"frc_f50", m.frc_f50},
          {"frc_auc", m.frc_auc},
          {"psnr_best_radial", m.psnr_best_radial},
          {"gain", m.fit.gain},
          {"offset", m.fit.offset},
          {"ringing", channel.ringing},
          {"seam", channel.seam},
          {"edge_error", channel.edge.outer},
          {"inside_error", channel.edge.inside}};
}

/// One curve a channel.
Json curves_json(const Verdict& verdict, Measures ChannelVerdict::*measures,
                 std::vector<double> Measures::*figure) {
  Json curves = Json::array();
  for (const ChannelVerdict& channel : verdict.channels) {
    Json curve = Json::array();
    for (const double value : channel.*measures.*figure)
      curve.push_back(std::round(value * 1e4) / 1e4);
    curves.push_back(curve);
  }
  return curves;
}

Json undistorted_json(const Verdict& verdict) {
  return {{"distortion_rms_px", mean_distortion_px(verdict)},
          {"psnr", mean_undistorted(verdict, &Measures::psnr)},
          {"ssim", mean_undistorted(verdict, &Measures::ssim)},
          {"frc_f50", mean_undistorted(verdict, &Measures::frc_f50)},
          {"frc_auc", mean_undistorted(verdict, &Measures::frc_auc)},
          {"psnr_best_radial", mean_undistorted(verdict, &Measures::psnr_best_radial)},
          {"transfer_curve",
           curves_json(verdict, &ChannelVerdict::without_distortion, &Measures::transfer_curve)}};
}

void add_channels(const Verdict& verdict, Json& json) {
  json["per_channel"] = Json::array();
  for (const ChannelVerdict& channel : verdict.channels) {
    json["per_channel"].push_back(channel_json(channel));
  }
  json["channel_misregistration_px"] = {{"R_minus_G", pair_of(from_green(verdict, 0))},
                                        {"B_minus_G", pair_of(from_green(verdict, 2))},
                                        {"max", channel_misregistration_px(verdict)}};
}

}  // namespace

double channel_misregistration_px(const Verdict& verdict) {
  if (verdict.channels.size() != 3) return 0;
  const Displacement red = from_green(verdict, 0);
  const Displacement blue = from_green(verdict, 2);
  return std::max(std::hypot(red.x_px, red.y_px), std::hypot(blue.x_px, blue.y_px));
}

nlohmann::ordered_json to_json(const Verdict& verdict) {
  Json json = {{"scale", verdict.scale},
               {"shift_xy", pair_of(verdict.shift)},
               {"coarse_ncc", verdict.coarse_correlation},
               {"coverage", verdict.coverage},
               {"psnr", mean_plain(verdict, &Measures::psnr)},
               {"nrmse", mean_plain(verdict, &Measures::nrmse)},
               {"ssim", mean_plain(verdict, &Measures::ssim)},
               {"frc_f50", mean_plain(verdict, &Measures::frc_f50)},
               {"frc_auc", mean_plain(verdict, &Measures::frc_auc)},
               {"psnr_best_radial", mean_plain(verdict, &Measures::psnr_best_radial)},
               {"ringing", mean_ringing(verdict)},
               {"seam", mean_seam(verdict)},
               {"edge_error", mean_edge(verdict, &EdgeError::outer)},
               {"inside_error", mean_edge(verdict, &EdgeError::inside)}};
  if (verdict.channels.size() == 3) {
    add_channels(verdict, json);
  } else {
    json["gain"] = verdict.channels[0].measures.fit.gain;
    json["offset"] = verdict.channels[0].measures.fit.offset;
  }
  json["after_removing_smooth_distortion"] = undistorted_json(verdict);
  json["frc_curve"] = curves_json(verdict, &ChannelVerdict::measures, &Measures::frc_curve);
  return json;
}

std::string to_text(const Verdict& verdict) {
  std::string text = fmt::format(
      "place: scale {}, shift {:+.3f} {:+.3f} px, {:.0f}% of the truth's box is shown\n"
      "as it is: PSNR {:.2f} dB, SSIM {:.4f}, FRC area {:.3f}, 0.5 at {:.3f} of the cutoff\n"
      "best isotropic filter: PSNR {:.2f} dB\n",
      verdict.scale, verdict.shift.x_px, verdict.shift.y_px, 100 * verdict.coverage,
      mean_plain(verdict, &Measures::psnr), mean_plain(verdict, &Measures::ssim),
      mean_plain(verdict, &Measures::frc_auc), mean_plain(verdict, &Measures::frc_f50),
      mean_plain(verdict, &Measures::psnr_best_radial));
  text += fmt::format(
      "without distortion of {:.3f} px rms: PSNR {:.2f} dB, SSIM {:.4f}, FRC area {:.3f}, 0.5 at "
      "{:.3f} of the cutoff, best isotropic filter {:.2f} dB\n",
      mean_distortion_px(verdict), mean_undistorted(verdict, &Measures::psnr),
      mean_undistorted(verdict, &Measures::ssim), mean_undistorted(verdict, &Measures::frc_auc),
      mean_undistorted(verdict, &Measures::frc_f50),
      mean_undistorted(verdict, &Measures::psnr_best_radial));
  text += fmt::format("ringing: {:.2f}% of the contrast at edges; seams: {:.3f}% of the peak\n",
                      100 * mean_ringing(verdict), 100 * mean_seam(verdict));
  text += fmt::format("rms error, of the peak: {:.2f}% within 8 px of an edge, {:.2f}% inside\n",
                      100 * mean_edge(verdict, &EdgeError::outer),
                      100 * mean_edge(verdict, &EdgeError::inside));
  if (verdict.channels.size() == 3) {
    text += fmt::format("colour channels are up to {:.3f} px apart\n",
                        channel_misregistration_px(verdict));
  }
  return text;
}

}  // namespace lull::judge
