#include "night/record.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "core/error.h"
#include "files/atomic_file.h"
#include "files/name_text.h"
#include "night/duplicates.h"
#include "night/small_picture.h"
#include "report/fingerprint.h"
#include "run/recipe_options.h"
#include "run/stack_header.h"

namespace lull::night {

namespace {

namespace fs = std::filesystem;
using nlohmann::json;

constexpr int kRecordVersion = 2;
constexpr const char* kTag = "lull_night";

json known(const std::optional<double>& value) { return value ? json(*value) : json(); }

// The figures over which a night is followed; null where they are not known.
json figures_of(const run::StackOutcome& outcome) {
  const health::Health& health = outcome.health;
  json out = json::object();
  for (const char* name : {"frames", "usable", "kept", "noise", "resolution_px",
                           "resolution_arcsec", "resolution_cutoff_share", "target"})
    out[name] = outcome.figures.at(name);
  out["d_over_r0"] = outcome.air ? json(outcome.air->turbulence.d_over_r0) : json();
  out["frame_detail_px"] = health.detail && health.detail->limit && *health.detail->limit > 0
                               ? json(1 / *health.detail->limit)
                               : json();
  out["best_over_median"] = health.trend ? json(health.trend->best_over_median) : json();
  out["sharpness_change"] = health.trend ? json(health.trend->change) : json();
  out["drift"] = health.motion ? json(health.motion->drift()) : json();
  out["drift_unit"] =
      health.motion && health.motion->unit == health::DriftUnit::px_per_frame ? "px/frame" : "px/s";
  std::optional<double> scale;
  if (const auto optics = outcome.optics_of_picture()) scale = optics->scale_arcsec_per_px();
  out["arcsec_per_px"] = known(scale);
  return out;
}

std::string object_of(const NightJob& job) {
  return job.look().object == run::Object::unspecified
             ? std::string()
             : run::word_of_value(job.look().object, run::object_words());
}

// The figures of a picture in colour: sums over its parts, and what the merged halves agree on.
json figures_of(const run::MergeOutcome& outcome) {
  json out = json::object();
  const auto add = [&](const char* name, auto* card) {
    out[name] = card != nullptr ? json(*card) : json();
  };
  using run::find_card;
  add("frames", find_card<std::int64_t>(outcome.cards, "NFRAMES"));
  add("usable", find_card<std::int64_t>(outcome.cards, "NUSABLE"));
  add("kept", find_card<std::int64_t>(outcome.cards, "NKEPT"));
  add("noise", find_card<double>(outcome.cards, "NOISE"));
  add("arcsec_per_px", find_card<double>(outcome.cards, "PIXSCALE"));
  add("resolution_px", find_card<double>(outcome.cards, "RESOL"));
  add("resolution_arcsec", find_card<double>(outcome.cards, "RESOLAS"));
  return out;
}

std::string filter_of(const NightJob& job) {
  if (!job.is_merge()) return job.stack().instrument.filter;
  return job.parts.size() > 3 ? "LRGB" : "RGB";
}

Record begun(const NightJob& job) {
  Record record;
  record.name = job.name;
  record.captures = job.captures();
  for (const NightJob& part : job.parts) record.parts.push_back(part.name);
  record.object = object_of(job);
  record.filter = filter_of(job);
  return record;
}

// What pictures of both kinds have.
template <class Outcome>
Record record_of_done(const NightJob& job, const Outcome& outcome) {
  Record record = begun(job);
  record.done = true;
  record.caution = outcome.caution;
  record.picture = small_picture(outcome.picture);
  record.width_px = outcome.picture.picture.view().size().width_px;
  record.height_px = outcome.picture.picture.view().size().height_px;
  record.figures = figures_of(outcome);
  record.notes = outcome.notes;
  return record;
}

json findings_json(const std::vector<health::Finding>& findings) {
  json out = json::array();
  for (const health::Finding& one : findings)
    out.push_back({{"name", one.name}, {"what", one.what}, {"next", one.next}});
  return out;
}

std::string text_in(const json& record, const char* key) {
  return record.at(key).get<std::string>();
}

Record record_in_json(const json& text) {
  Record record;
  record.name = files::name_of_text(text_in(text, "name"));
  record.key = text_in(text, "key");
  record.done = text.at("state") == "done";
  record.skipped = text.at("state") == "skipped";
  record.begun = text.at("begun");
  for (const json& one : text.at("captures"))
    record.captures.push_back(files::name_of_text(one.get<std::string>()));
  for (const json& one : text.at("parts"))
    record.parts.push_back(files::name_of_text(one.get<std::string>()));
  record.object = text_in(text, "object");
  record.filter = text_in(text, "filter");
  record.when = text_in(text, "when");
  record.caution = text_in(text, "caution");
  record.picture = text_in(text, "picture");
  record.width_px = text.at("width_px");
  record.height_px = text.at("height_px");
  record.figures = text.at("figures");
  for (const json& one : text.at("findings"))
    record.findings.push_back({text_in(one, "name"), text_in(one, "what"), text_in(one, "next")});
  record.notes = text.at("notes").get<std::vector<std::string>>();
  record.problem = text_in(text, "problem");
  record.remedy = text_in(text, "remedy");
  record.status = text.at("status");
  return record;
}

std::string read_text(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace

std::string job_key(const NightJob& job, const std::vector<std::string>& parts) {
  json key = {{"version", LULL_VERSION},
              {"options", job.is_merge() ? run::recipe_of(run::merge_options(), job.merge())
                                         : run::recipe_of(run::stack_options(), job.stack())}};
  for (const std::string& part : parts) key["parts"].push_back(part);
  if (!job.is_merge()) {
    for (const std::string& capture : job.captures())
      key["captures"].push_back(input_fingerprint(capture));
  }
  for (const Master& master : job.masters) {
    for (const std::string& capture : master.captures)
      key["masters"][files::name_text(master.name)].push_back(input_fingerprint(capture));
  }
  return report::sha256_of(key.dump());
}

Record record_of(const NightJob& job, const run::StackOutcome& outcome) {
  Record record = record_of_done(job, outcome);
  if (outcome.times) record.when = iso8601(outcome.times->begin, 0) + "Z";
  record.findings =
      health::findings_of(outcome.info, outcome.health, outcome.request.instrument.optics());
  return record;
}

Record record_of(const NightJob& job, const run::MergeOutcome& outcome) {
  Record record = record_of_done(job, outcome);
  if (const auto begin = run::moment_in(outcome.cards, "DATE-OBS"))
    record.when = iso8601(*begin, 0) + "Z";
  return record;
}

Record record_of_failure(const NightJob& job, const std::string& message, int status) {
  Record record = begun(job);
  const std::size_t end = message.find("; ");
  record.problem = message.substr(0, end);
  if (end != std::string::npos) record.remedy = message.substr(end + 2);
  record.status = status;
  return record;
}

Record record_of_skipped(const NightJob& job, const std::string& why) {
  Record record = record_of_failure(job, why, static_cast<int>(ExitStatus::nothing_usable));
  record.skipped = true;
  return record;
}

LeftOut left_out_of(const Record& record) {
  const bool is_capture = record.parts.empty() && !record.captures.empty();
  return {is_capture ? record.captures.front() : record.name, record.problem, false};
}

const char* state_of(const Record& record) {
  if (record.done) return "done";
  return record.skipped ? "skipped" : "failed";
}

json to_json(const Record& record) {
  return {{kTag, kRecordVersion},
          {"name", files::name_text(record.name)},
          {"key", record.key},
          {"state", state_of(record)},
          {"begun", record.begun},
          {"captures", files::name_texts(record.captures)},
          {"parts", files::name_texts(record.parts)},
          {"object", record.object},
          {"filter", record.filter},
          {"when", record.when},
          {"caution", record.caution},
          {"picture", record.picture},
          {"width_px", record.width_px},
          {"height_px", record.height_px},
          {"figures", record.figures},
          {"findings", findings_json(record.findings)},
          {"notes", record.notes},
          {"problem", record.problem},
          {"remedy", record.remedy},
          {"status", record.status}};
}

std::optional<Record> record_in(const std::string& text) {
  try {
    const json parsed = json::parse(text);
    if (!parsed.is_object() || parsed.value(kTag, 0) != kRecordVersion) return std::nullopt;
    return record_in_json(parsed);
  } catch (const json::exception&) {
    return std::nullopt;
  }
}

std::optional<Record> load_record(const NightFolder& place, const std::string& name) {
  return record_in(read_text(place.record(name)));
}

void save_record(const NightFolder& place, const Record& record) {
  const std::string path = place.record(record.name);
  NightFolder::make_folder_of(path);
  files::write_file(path, files::json_text(to_json(record), 1) + "\n");
}

std::vector<Record> load_records(const NightFolder& place) {
  std::vector<Record> out;
  std::error_code error;
  for (fs::recursive_directory_iterator entry(place.state(), error), end; !error && entry != end;
       entry.increment(error)) {
    if (entry->path().extension() != ".json") continue;
    if (auto record = record_in(read_text(entry->path()))) out.push_back(std::move(*record));
  }
  std::sort(out.begin(), out.end(),
            [](const Record& a, const Record& b) { return a.name < b.name; });
  return out;
}

bool is_done(const NightFolder& place, const NightJob& job, const std::string& key) {
  const auto record = load_record(place, job.name);
  if (!record || !record->done || record->key != key) return false;
  std::error_code ignored;
  const fs::path picture = job.output();
  const auto beside = [&](const char* ending) {
    return fs::path(picture).replace_extension(ending);
  };
  return fs::exists(picture, ignored) && fs::exists(beside(".recipe.json"), ignored) &&
         fs::exists(job.report_path(), ignored);
}

}  // namespace lull::night
