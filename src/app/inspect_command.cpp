#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "app/commands.h"
#include "app/verdict.h"
#include "core/error.h"
#include "stack/survey.h"

namespace lull::app {

namespace {

std::string depth_sentence(const capture::CaptureInfo& info) {
  if (info.true_bits == info.stored_bits) return fmt::format("{} bit", info.true_bits);
  return fmt::format("{} bit, at the {} end of {}-bit words", info.true_bits,
                     info.high_aligned ? "high" : "low", info.stored_bits);
}

struct Health {
  double brightest = 0;
  double saturated_frames = 0;  ///< share with saturated cells
  double noise = 0;
  Shift range;                  ///< how far the object wandered, px
  double sharpness_spread = 0;  ///< best over middle
};

Health health_of(const stack::Survey& survey) {
  Health out;
  double count = 0;
  Shift low{1e9, 1e9};
  Shift high{-1e9, -1e9};
  for (const auto& r : survey.records) {
    if (!r.usable()) continue;
    ++count;
    out.brightest = std::max(out.brightest, r.brightness);
    out.saturated_frames += r.saturated_share > 0.001 ? 1 : 0;
    out.noise += r.noise;
    low = {std::min(low.x_px, r.shift.x_px), std::min(low.y_px, r.shift.y_px)};
    high = {std::max(high.x_px, r.shift.x_px), std::max(high.y_px, r.shift.y_px)};
  }
  if (count == 0) return out;
  out.saturated_frames /= count;
  out.noise /= count;
  out.range = high - low;
  const auto order = quality::rank(survey.records);
  const double middle = survey.records[order[order.size() / 2]].sharpness;
  out.sharpness_spread = middle > 0 ? survey.records[order[0]].sharpness / middle : 0;
  return out;
}

std::vector<std::string> findings(const capture::CaptureInfo& info, const stack::Survey& survey,
                                  const Health& health) {
  std::vector<std::string> out = info.notes;
  const auto add = [&out](std::string text) { out.push_back(std::move(text)); };
  if (survey.usable() == 0) {
    add(fmt::format("no frame can be ranked or stacked: {}", left_out(survey)));
  }
  if (health.saturated_frames > 0.02) {
    add(
        fmt::format("{:.0f}% of the frames have saturated areas: shorten the exposure or lower the "
                    "gain next time",
                    100 * health.saturated_frames));
  }
  if (survey.usable() > 0 && health.brightest < 0.15) {
    add(
        fmt::format("the object reaches only {:.0f}% of full scale: a longer exposure or more gain "
                    "would use the range better, if the air allows",
                    100 * health.brightest));
  }
  const auto lost = survey.count(Reject::damaged) + survey.count(Reject::doubled);
  if (lost > 0) {
    add(
        fmt::format("{} frames are damaged and {} repeat the one before: a slower frame rate, a "
                    "faster disk or another cable may help",
                    survey.count(Reject::damaged), survey.count(Reject::doubled)));
  }
  if (survey.count(Reject::lost_target) + survey.count(Reject::black) > 0) {
    add(fmt::format("the object was gone in {} frames: watch the framing, or clouds",
                    survey.count(Reject::lost_target) + survey.count(Reject::black)));
  }
  if (health.range.x_px > 0.3 * info.size.width_px ||
      health.range.y_px > 0.3 * info.size.height_px) {
    add(fmt::format(
        "the object wandered over {:.0f} x {:.0f} px: align the mount better, or record "
        "a larger frame",
        health.range.x_px, health.range.y_px));
  }
  return out;
}

}  // namespace

void inspect(const InspectOptions& options, const Progress& progress) {
  const auto frames = open_capture(options.input, progress);
  const stack::Survey survey =
      stack::survey(*frames, {parse_metric(options.input.metric)}, progress);
  const capture::CaptureInfo& info = frames->info();
  const Health health = health_of(survey);
  const auto told = findings(info, survey, health);
  const auto decoded = static_cast<std::int64_t>(survey.records.size());
  if (options.input.json) {
    const nlohmann::json out = {{"capture", info.path},
                                {"container", info.container},
                                {"codec", info.codec},
                                {"pixel_format", info.pixel_format},
                                {"width_px", info.size.width_px},
                                {"height_px", info.size.height_px},
                                {"rotation_deg", info.rotation_deg},
                                {"colour", capture::colour_name(info.colour)},
                                {"cfa", capture::cfa_name(info.cfa)},
                                {"true_bits", info.true_bits},
                                {"stored_bits", info.stored_bits},
                                {"high_aligned", info.high_aligned},
                                {"header_frames", info.header_frames},
                                {"frames", decoded},
                                {"usable", survey.usable()},
                                {"damaged", survey.count(Reject::damaged)},
                                {"doubled", survey.count(Reject::doubled)},
                                {"frames_per_s", info.frames_per_s},
                                {"target", quality::target_name(survey.target.kind)},
                                {"object_brightness", health.brightest},
                                {"noise", health.noise},
                                {"wander_px", {health.range.x_px, health.range.y_px}},
                                {"best_over_middle_sharpness", health.sharpness_spread},
                                {"findings", told}};
    fmt::print("{}\n", out.dump(1));
    return;
  }
  fmt::print("{}\n", info.path);
  fmt::print("file      {}, {}, {}\n", info.container, info.codec, info.pixel_format);
  fmt::print("frames    {} of {} x {} px; the header says {}\n", decoded, info.size.width_px,
             info.size.height_px,
             info.header_frames > 0 ? std::to_string(info.header_frames) : "nothing");
  if (info.rotation_deg != 0) fmt::print("rotation  {} degrees, applied\n", info.rotation_deg);
  fmt::print("samples   {}; {}{}\n", depth_sentence(info), capture::colour_name(info.colour),
             info.cfa == capture::Cfa::none
                 ? std::string()
                 : fmt::format(", mosaic {}", capture::cfa_name(info.cfa)));
  if (info.frames_per_s > 0) {
    fmt::print("time      {:.2f} frames/s, {:.2f} s\n", info.frames_per_s,
               static_cast<double>(decoded) / info.frames_per_s);
  }
  fmt::print("target    {}; brightness {:.0f}% of full scale, noise {:.2f}%\n",
             quality::target_name(survey.target.kind), 100 * health.brightest, 100 * health.noise);
  fmt::print("usable    {} frames; damaged {}, repeated {}\n", survey.usable(),
             survey.count(Reject::damaged), survey.count(Reject::doubled));
  fmt::print("motion    wandered over {:.1f} x {:.1f} px\n", health.range.x_px, health.range.y_px);
  fmt::print("sharpness best frame {:.2f} times the middle one\n", health.sharpness_spread);
  if (told.empty()) fmt::print("nothing to complain about\n");
  for (const std::string& finding : told) fmt::print("- {}\n", finding);
}

}  // namespace lull::app
