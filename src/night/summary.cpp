#include "night/summary.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>
#include <tuple>

#include "files/csv.h"
#include "files/name_text.h"

namespace lull::night {

namespace {

using nlohmann::json;

const std::vector<std::string>& figure_names() {
  static const std::vector<std::string> names = {"frames",
                                                 "usable",
                                                 "kept",
                                                 "resolution_px",
                                                 "resolution_arcsec",
                                                 "noise",
                                                 "d_over_r0",
                                                 "drift",
                                                 "drift_unit",
                                                 "frame_detail_px",
                                                 "best_over_median",
                                                 "sharpness_change"};
  return names;
}

// As the table has it: plain text, empty where it is not known.
std::string cell(const json& value) {
  if (value.is_null()) return {};
  if (value.is_string()) return value.get<std::string>();
  if (value.is_number_float()) return fmt::format("{:.6g}", value.get<double>());
  return value.dump();
}

json left_out_json(const Summary& summary) {
  json out = json::array();
  for (const LeftOut& one : summary.left_out) {
    out.push_back({{"capture", files::name_text(one.capture)},
                   {"why", files::utf8_text(one.why)},
                   {"problem", one.is_problem}});
  }
  return out;
}

json advice_json(const Summary& summary) {
  json out = json::array();
  for (const Advice& one : advice_of(summary)) {
    out.push_back({{"name", one.finding.name},
                   {"what", one.finding.what},
                   {"next", one.finding.next},
                   {"pictures", files::name_texts(one.pictures)}});
  }
  return out;
}

}  // namespace

Summary summary_of(std::vector<Record> records, std::vector<LeftOut> left_out,
                   std::vector<Set> sets) {
  for (const Record& record : records) {
    if (record.skipped) left_out.push_back(left_out_of(record));
  }
  std::erase_if(records, [](const Record& one) { return one.skipped; });
  std::sort(records.begin(), records.end(), [](const Record& a, const Record& b) {
    return std::tie(a.when, a.name) < std::tie(b.when, b.name);
  });
  return {std::move(records), std::move(left_out), std::move(sets)};
}

std::string night_csv(const Summary& summary) {
  std::vector<std::string> head = {"name",   "state",    "when",     "object",
                                   "filter", "width_px", "height_px"};
  head.insert(head.end(), figure_names().begin(), figure_names().end());
  head.insert(head.end(), {"problem", "remedy"});
  std::string text = files::csv_line(head);
  for (const Record& record : summary.records) {
    std::vector<std::string> row = {files::name_text(record.name),
                                    state_of(record),
                                    record.when,
                                    record.object,
                                    record.filter,
                                    record.done ? std::to_string(record.width_px) : "",
                                    record.done ? std::to_string(record.height_px) : ""};
    for (const std::string& name : figure_names())
      row.push_back(cell(record.figures.value(name, json())));
    row.push_back(files::utf8_text(record.problem));
    row.push_back(files::utf8_text(record.remedy));
    text += files::csv_line(row);
  }
  return text;
}

std::vector<Advice> advice_of(const Summary& summary) {
  std::map<std::string, Advice> by_name;
  for (const Record& record : summary.records) {
    for (const health::Finding& finding : record.findings) {
      Advice& advice = by_name[finding.name];
      if (advice.pictures.empty()) advice.finding = finding;
      advice.pictures.push_back(record.name);
    }
  }
  std::vector<Advice> out;
  for (auto& [name, advice] : by_name) out.push_back(std::move(advice));
  std::stable_sort(out.begin(), out.end(), [](const Advice& a, const Advice& b) {
    return a.pictures.size() > b.pictures.size();
  });
  return out;
}

json night_json(const Summary& summary) {
  json pictures = json::array();
  for (const Record& record : summary.records) {
    json one = to_json(record);
    for (const char* key : {"lull_night", "key", "picture", "begun"}) one.erase(key);
    pictures.push_back(std::move(one));
  }
  json sets = json::array();
  for (const Set& one : summary.sets) {
    sets.push_back({{"kind", one.kind},
                    {"pictures", files::name_texts(one.pictures)},
                    {"why", files::utf8_text(one.why)}});
  }
  return {{"version", LULL_VERSION},
          {"pictures", pictures},
          {"left_out", left_out_json(summary)},
          {"sets", sets},
          {"next_time", advice_json(summary)}};
}

}  // namespace lull::night
