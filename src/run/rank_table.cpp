#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "files/csv.h"
#include "files/name_text.h"
#include "run/exposure_times.h"
#include "run/metric_json.h"
#include "run/rank_outcome.h"

namespace lull::run {

namespace {

using quality::FrameRecord;

std::string flags(const FrameRecord& record) {
  return record.reject ? std::string(reject_name(*record.reject)) : std::string();
}

bool has_utc(const capture::CaptureInfo& info) { return info.times.begun && info.times.known; }

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
                                     r.usable() ? fmt::format("{:.3f}", r.offset.shift().x_px) : "",
                                     r.usable() ? fmt::format("{:.3f}", r.offset.shift().y_px) : "",
                                     flags(r)};
  if (has_utc(info)) fields.push_back(utc_text(info, r));
  return fields;
}

}  // namespace

std::string rank_table(const RankOutcome& outcome) {
  const capture::CaptureInfo& info = outcome.info;
  std::vector<std::string> names = {"frame",      "time_s",     "sharpness", "brightness",
                                    "shift_x_px", "shift_y_px", "flags"};
  if (has_utc(info)) names.emplace_back("utc");
  std::string text = files::csv_line(names);
  for (const FrameRecord& record : outcome.survey.records)
    text += files::csv_line(csv_fields(info, record));
  return text;
}

nlohmann::json to_json(const RankOutcome& outcome) {
  const survey::Survey& survey = outcome.survey;
  const capture::CaptureInfo& info = outcome.info;
  nlohmann::json frames = nlohmann::json::array();
  for (const FrameRecord& r : survey.records) {
    nlohmann::json frame = {{"frame", r.index},
                            {"time_s", r.time_s},
                            {"sharpness", r.sharpness},
                            {"brightness", r.brightness},
                            {"noise", r.noise}};
    if (const std::string utc = utc_text(info, r); !utc.empty()) frame["utc"] = utc;
    if (r.usable()) {
      frame["shift_x_px"] = r.offset.shift().x_px;
      frame["shift_y_px"] = r.offset.shift().y_px;
    } else {
      frame["flags"] = flags(r);
    }
    frames.push_back(std::move(frame));
  }
  nlohmann::json best = nlohmann::json::array();
  for (const std::size_t i : outcome.order) best.push_back(survey.records[i].index);
  nlohmann::json out = {{"capture", files::name_text(info.path)},
                        {"target", quality::target_name(survey.target.kind)},
                        {"usable", outcome.order.size()},
                        {"best_first", best},
                        {"frames", frames},
                        {"notes", outcome.notes}};
  add_metric(survey, out);
  return out;
}

}  // namespace lull::run
