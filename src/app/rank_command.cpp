#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <numeric>

#include "app/commands.h"
#include "app/reading.h"
#include "app/results.h"
#include "app/times.h"
#include "app/verdict.h"
#include "capture/video_writer.h"
#include "core/error.h"
#include "files/atomic_file.h"
#include "files/csv.h"
#include "survey/survey.h"

namespace lull::app {

namespace {

using quality::FrameRecord;

std::string flags(const FrameRecord& record) {
  return record.reject ? std::string(reject_name(*record.reject)) : std::string();
}

bool has_utc(const capture::CaptureInfo& info) { return info.begun && info.has_times; }

// `shift` maps a frame point to the reference: the opposite of where the object was found.
std::vector<std::string> csv_fields(const capture::CaptureInfo& info, const FrameRecord& r) {
  const bool measured = r.reject != Reject::damaged || r.brightness > 0;
  const auto number = [measured](double value, const char* format) {
    return measured ? fmt::format(fmt::runtime(format), value) : std::string();
  };
  std::vector<std::string> fields = {std::to_string(r.index),
                                     fmt::format("{:.6f}", r.time_s),
                                     number(r.sharpness, "{:.6g}"),
                                     number(r.brightness, "{:.6g}"),
                                     r.usable() ? fmt::format("{:.3f}", 0.0 - r.shift.x_px) : "",
                                     r.usable() ? fmt::format("{:.3f}", 0.0 - r.shift.y_px) : "",
                                     flags(r)};
  if (has_utc(info)) fields.push_back(utc_text(info, r));
  return fields;
}

std::string table(const survey::Survey& survey, const capture::CaptureInfo& info) {
  std::vector<std::string> names = {"frame",      "time_s",     "sharpness", "brightness",
                                    "shift_x_px", "shift_y_px", "flags"};
  if (has_utc(info)) names.emplace_back("utc");
  std::string text = files::csv_line(names);
  for (const FrameRecord& record : survey.records)
    text += files::csv_line(csv_fields(info, record));
  return text;
}

nlohmann::json to_json(const survey::Survey& survey, const std::vector<std::size_t>& order,
                       const capture::CaptureInfo& info, const std::vector<std::string>& notes) {
  nlohmann::json frames = nlohmann::json::array();
  for (const FrameRecord& r : survey.records) {
    nlohmann::json frame = {{"frame", r.index},
                            {"time_s", r.time_s},
                            {"sharpness", r.sharpness},
                            {"brightness", r.brightness},
                            {"noise", r.noise}};
    if (const std::string utc = utc_text(info, r); !utc.empty()) frame["utc"] = utc;
    if (r.usable()) {
      frame["shift_x_px"] = 0.0 - r.shift.x_px;
      frame["shift_y_px"] = 0.0 - r.shift.y_px;
    } else {
      frame["flags"] = flags(r);
    }
    frames.push_back(std::move(frame));
  }
  nlohmann::json best = nlohmann::json::array();
  for (const std::size_t i : order) best.push_back(survey.records[i].index);
  return {{"capture", info.path},
          {"metric", quality::metric_name(survey.metric)},
          {"target", quality::target_name(survey.target.kind)},
          {"usable", order.size()},
          {"best_first", best},
          {"frames", frames},
          {"notes", notes}};
}

// What the reader of the sorted video has to know and the video cannot say.
std::vector<std::string> sorted_notes(const RankOptions& options,
                                      const capture::CaptureInfo& info) {
  std::vector<std::string> notes;
  if (options.sorted.empty()) return notes;
  if (calibrates(options.input)) {
    notes.push_back(fmt::format(
        "{} holds the frames as they were recorded; calibrate it as you would the capture",
        options.sorted));
  }
  if (info.cfa != capture::Cfa::none) {
    notes.push_back(fmt::format(
        "{} holds the mosaic as gray, for its format has no colour filters; they are {}",
        options.sorted, capture::cfa_name(info.cfa)));
  }
  return notes;
}

void print_summary(const survey::Survey& survey, const std::vector<std::size_t>& order,
                   const capture::CaptureInfo& info, const std::vector<std::string>& notes) {
  fmt::print("{}: {} frames of {} x {} px, {} usable\n", info.path, survey.records.size(),
             info.size.width_px, info.size.height_px, order.size());
  for (const Reject reason : {Reject::damaged, Reject::black, Reject::saturated, Reject::doubled,
                              Reject::lost_target, Reject::weak_peak}) {
    const auto count = survey.count(reason);
    if (count > 0) fmt::print("  left out, {}: {}\n", reject_name(reason), count);
  }
  fmt::print("target: {}; sharpness measure: {}\n", quality::target_name(survey.target.kind),
             quality::metric_name(survey.metric));
  for (const std::string& note : notes) fmt::print("note: {}\n", note);
  if (order.empty()) return;
  const double middle = survey.records[order[order.size() / 2]].sharpness;
  fmt::print("sharpness relative to the middle frame:");
  for (const double share : {0.0, 0.1, 0.25, 0.75, 1.0}) {
    const auto at = static_cast<std::size_t>(share * static_cast<double>(order.size() - 1));
    fmt::print(" {} {:.2f}",
               share == 0   ? "best"
               : share == 1 ? "worst"
                            : fmt::format("{:.0f}%", share * 100),
               middle > 0 ? survey.records[order[at]].sharpness / middle : 0);
  }
  fmt::print("\nbest frames:");
  for (std::size_t i = 0; i < std::min<std::size_t>(order.size(), 10); ++i) {
    fmt::print(" {}", survey.records[order[i]].index);
  }
  fmt::print("\n");
}

void write_sorted(const std::filesystem::path& path, const RankOptions& options,
                  capture::FrameStore& frames, const survey::Survey& survey,
                  const std::vector<std::size_t>& order, const Progress& progress) {
  const auto best = static_cast<std::size_t>(options.best);
  const auto count = best > 0 ? std::min(best, order.size()) : order.size();
  capture::VideoWriter writer(path, frames.info(), frames.info().frames_per_s,
                              options.input.threads);
  for (std::size_t i = 0; i < count; ++i) {
    progress.step("sorting", static_cast<std::int64_t>(i), static_cast<std::int64_t>(count));
    const auto frame = frames.at(survey.records[order[i]].index);
    if (frame.ok()) writer.add(frame.value());
  }
  writer.finish();
}

void check_outputs(const RankOptions& options) {
  for (const std::string& result : {options.csv, options.sorted}) {
    if (!result.empty()) check_output(result, options.input);
  }
  const auto place = [](const std::string& path) {
    return std::filesystem::weakly_canonical(std::filesystem::absolute(path));
  };
  if (!options.csv.empty() && !options.sorted.empty() &&
      place(options.csv) == place(options.sorted)) {
    throw UsageError(fmt::format(
        "{}: the table and the video cannot have the same name; choose another for one of them",
        options.csv));
  }
}

void write_results(const RankOptions& options, const capture::CaptureInfo& info,
                   const survey::Survey& survey, const std::vector<std::size_t>& order,
                   const Progress& progress) {
  Results results;
  if (!options.csv.empty()) {
    results.add(options.csv,
                [&](const auto& path) { files::write_file(path, table(survey, info)); });
  }
  if (!options.sorted.empty()) {
    // Frames as the camera gave them: a video cannot tell the black level of calibrated ones.
    const auto recorded = open_recorded(options.input);
    results.add(options.sorted, [&](const auto& path) {
      write_sorted(path, options, *recorded, survey, order, progress);
    });
  }
  results.commit();
}

}  // namespace

void rank(const RankOptions& options, const Progress& progress) {
  const survey::SurveyOptions survey_options{parse_metric(options.input.metric)};
  static_cast<void>(reading_of(options.input));
  check_outputs(options);
  const auto frames = open_capture(options.input, progress).frames;
  const survey::Survey survey = survey::survey_capture(*frames, survey_options, progress);
  const auto order = quality::rank(survey.records);
  if (!order.empty()) write_results(options, frames->info(), survey, order, progress);
  std::vector<std::string> notes = frames->info().notes;
  for (std::string& note : sorted_notes(options, frames->info())) notes.push_back(std::move(note));
  if (options.input.json) {
    fmt::print("{}\n", to_json(survey, order, frames->info(), notes).dump(1));
  } else {
    print_summary(survey, order, frames->info(), notes);
  }
  require_usable(survey, options.input.capture, 1, "ranking");
}

}  // namespace lull::app
