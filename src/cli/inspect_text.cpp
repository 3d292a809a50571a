#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <string_view>

#include "cli/help.h"
#include "cli/texts.h"
#include "core/words.h"
#include "run/verdict.h"

namespace lull::cli {

namespace {

constexpr double kWorthwhile = 1.25;  // times the exposure; less is no gain

std::string paragraph(const std::string& text, int indent) {
  return wrapped(text, 0, indent, terminal_columns()) + "\n";
}

std::string line(std::string_view name, const std::string& text) {
  return paragraph(fmt::format("{:<9} {}", name, text), 10);
}

std::string percent(double share, int decimals = 0) {
  return fmt::format("{:.{}f}%", 100 * share, decimals);
}

std::string samples_text(const capture::CaptureInfo& info) {
  std::string text = fmt::format("{} bit", info.bits.used);
  if (info.bits.used != info.bits.stored) {
    text += fmt::format(" at the {} end of {}-bit words", info.bits.high_aligned ? "high" : "low",
                        info.bits.stored);
  }
  text += fmt::format(", {}", capture::colour_name(info.colour));
  if (info.cfa != capture::Cfa::none)
    text += fmt::format(", mosaic {}", capture::cfa_name(info.cfa));
  return text;
}

std::string frames_text(const run::InspectOutcome& outcome) {
  const auto& survey = outcome.health.survey;
  const auto& info = outcome.info;
  std::string text = fmt::format(
      "{} of {} x {} px, {} of them usable; the header states {}", survey.records.size(),
      info.size.width_px, info.size.height_px, survey.usable(),
      info.storage.header_frames > 0 ? std::to_string(info.storage.header_frames) : "nothing");
  const std::string reasons = run::left_out(survey);
  if (!reasons.empty()) text += "; left out: " + reasons;
  if (info.rotation_deg != 0) text += fmt::format("; turned by {} degrees", info.rotation_deg);
  return text;
}

std::string time_text(const std::optional<health::Timing>& timing) {
  if (!timing) return "not recorded";
  std::string text =
      fmt::format("{:.2f} s at {:.2f} frames/s", timing->duration_s, timing->frames_per_s());
  if (timing->gaps > 0) {
    return text + fmt::format("; {}, {} missing, longest {:.3g} s at {:.2f} s",
                              counted(timing->gaps, "gap"),
                              counted(timing->missing_frames, "frame"), timing->longest_gap_s,
                              timing->longest_gap_at_s);
  }
  return text + (timing->too_coarse ? "; stamps too coarse to see single gaps" : "; no gaps");
}

// When it was recorded, as far as the file states it.
std::string date_text(const capture::CaptureInfo& info) {
  std::string text;
  if (info.times.exposure_s > 0)
    text += fmt::format("; exposed for {:.4g} s", info.times.exposure_s);
  if (info.times.begun)
    text +=
        fmt::format("; begun {} UTC ({})", iso8601(*info.times.begun, 0), info.times.begun_source);
  if (!info.times.timecode.empty()) text += fmt::format("; time code {}", info.times.timecode);
  return text;
}

std::string target_text(const health::Place& place) {
  std::string text(health::kind_name(place.kind));
  if (place.extent)
    text += fmt::format(", {} x {} px", place.extent->width_px, place.extent->height_px);
  text += fmt::format(", {} of the frame", percent(place.frame_share, place.frame_share < 0.1));
  if (place.cut_frames > 0)
    text += fmt::format("; cut by the frame's edge in {} of the frames", percent(place.cut_frames));
  return text;
}

// How often the light fits again below what is aimed at.
std::string headroom_text(const health::Exposure& exposure) {
  const double times = health::kAimUnder / exposure.brightest();
  if (exposure.saturated() > 0 || times <= 1) return "no headroom";
  std::string headroom =
      fmt::format("headroom {} below {}", percent(1 - 1 / times), percent(health::kAimUnder));
  if (times < kWorthwhile) return headroom;
  const double rounded = std::round(10 * times) / 10;
  if (rounded == 2) return headroom + ": expose twice as long";
  return headroom + fmt::format(": expose {:.2g} times as long", times);
}

std::string exposure_text(const health::Exposure& exposure) {
  double lowest = 1;
  for (const auto& channel : exposure.channels) lowest = std::min(lowest, channel.lowest);
  if (exposure.brightest() <= 0) return "not known: no frame with an object";
  std::string text = fmt::format("levels {} to {} of full scale; {}", percent(lowest),
                                 percent(exposure.brightest()), headroom_text(exposure));
  text += exposure.saturated() > 0
              ? fmt::format("; full scale in {} of samples, {} of frames",
                            percent(exposure.saturated(), exposure.saturated() < 0.01 ? 3 : 0),
                            percent(exposure.saturated_frames))
              : "; none at full scale";
  return text + (exposure.at_zero() > 0
                     ? fmt::format("; {} clipped at 0", percent(exposure.at_zero(), 1))
                     : "; none clipped at 0");
}

std::string noise_text(const std::optional<health::PhotonTransfer>& noise) {
  if (!noise) return "not known: too few flat places";
  const auto& dark = noise->points.front();
  const auto& bright = noise->points.back();
  std::string text = fmt::format("{:.2f} levels at level {:.0f}, {:.2f} at level {:.0f}",
                                 std::sqrt(dark.variance_adu2), dark.level_adu,
                                 std::sqrt(bright.variance_adu2), bright.level_adu);
  if (!noise->gain_e_per_adu) return text + "; gain not known";
  const double gain = *noise->gain_e_per_adu;
  // Two digits of the error.
  const int decimals =
      std::clamp(1 - static_cast<int>(std::floor(std::log10(gain * noise->gain_error))), 0, 6);
  return text + fmt::format("; gain {:.{}f} +- {:.{}f} electrons a level", gain, decimals,
                            gain * noise->gain_error, decimals);
}

// Nothing to report where lines differ by no more than chance.
std::string pattern_text(const std::optional<health::Pattern>& pattern) {
  if (!pattern || !pattern->significant) return {};
  return fmt::format("; pattern of the sensor: columns {:.2f}, rows {:.2f} levels rms",
                     pattern->columns_adu, pattern->rows_adu);
}

std::string motion_text(const std::optional<health::Motion>& motion,
                        const std::optional<health::Timing>& timing) {
  if (!motion) return "not known: too few frames";
  std::string text = fmt::format("drift {:+.2f}, {:+.2f} px/{}", motion->x.slope, motion->y.slope,
                                 motion->unit == health::DriftUnit::px_per_s ? "s" : "frame");
  if (motion->jitter_px) text += fmt::format("; jitter {:.2f} px a frame", *motion->jitter_px);
  if (motion->jitter_px && timing)
    text += fmt::format(" ({:.3g} px/s)", *motion->jitter_px * timing->frames_per_s());
  return text +
         fmt::format("; wandered over {:.1f} x {:.1f} px", motion->range.x_px, motion->range.y_px);
}

std::string trend_text(const std::optional<health::Trend>& trend) {
  if (!trend) return "no trend is significant";
  const std::string text = fmt::format("best tenth {:.2f}, best {:.2f} times the median frame",
                                       trend->tenth_over_median, trend->best_over_median);
  if (!trend->significant) return text + "; no steady rise or fall";
  return text +
         fmt::format("; {} by {:.0f}% ({:.0f} to {:.0f}%)", trend->change > 0 ? "rises" : "falls",
                     100 * std::abs(trend->change),
                     100 * std::min(std::abs(trend->change_low), std::abs(trend->change_high)),
                     100 * std::max(std::abs(trend->change_low), std::abs(trend->change_high)));
}

std::string detail_text(const run::InspectOutcome& outcome) {
  const auto& detail = outcome.health.detail;
  std::string text = "none above the noise";
  if (!detail) text = "not known: too few frames, or too small";
  if (detail && !detail->noise_usable) text = "not known: no white noise to measure it against";
  if (detail && detail->limit) {
    text = fmt::format("down to {}{:.1f} px ({:.2f} cycles/px)",
                       detail->to_the_end ? "at least " : "", 1 / *detail->limit, *detail->limit);
  }
  if (!outcome.optics) {
    return detail && detail->limit
               ? text + fmt::format(", so at most {:.1f} px per lambda/D", 1 / *detail->limit)
               : text;
  }
  text +=
      fmt::format("; optics: {:.2f} px per lambda/D, {:.3f} arcsec/px",
                  outcome.optics->px_per_lambda_over_d(), outcome.optics->scale_arcsec_per_px());
  if (detail && detail->limit) {
    text += fmt::format(", so {} of their cutoff",
                        percent(*detail->limit / outcome.optics->cutoff_cycles_per_px()));
  }
  return text;
}

std::string capitalised(std::string text) {
  if (!text.empty()) text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
  return text;
}

}  // namespace

std::string inspect_text(const run::InspectOutcome& outcome) {
  const auto& info = outcome.info;
  const auto& health = outcome.health;
  std::string text = info.path + "\n";
  text += line("file", fmt::format("{}, {}, {}", info.storage.container, info.storage.codec,
                                   info.storage.pixel_format));
  text += line("frames", frames_text(outcome));
  text += line("samples", samples_text(info));
  text += line("time", time_text(health.timing) + date_text(info));
  text += line("target", target_text(health.place));
  text += line("exposure", exposure_text(health.exposure));
  text += line("noise", noise_text(health.noise) + pattern_text(health.pattern));
  text += line("motion", motion_text(health.motion, health.timing));
  text += line("sharpness", trend_text(health.trend));
  text += line("detail", detail_text(outcome));
  for (const std::string& note : info.notes) text += line("note", note);
  if (outcome.findings.empty()) {
    text += "\nNothing to improve was found.\n";
  } else {
    text += "\nNext time:\n";
    for (const auto& finding : outcome.findings)
      text += paragraph(fmt::format("- {}: {}.", capitalised(finding.what), finding.next), 2);
  }
  if (!outcome.caution.empty()) text += "\n" + paragraph(outcome.caution, 0);
  return text;
}

}  // namespace lull::cli
