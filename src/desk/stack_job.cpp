#include "desk/stack_job.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <utility>

#include "capture/folder.h"
#include "desk/option_values.h"
#include "desk/result_index.h"
#include "desk/result_names.h"
#include "files/name_text.h"
#include "files/picture_file.h"
#include "run/outputs.h"
#include "run/profile_options.h"
#include "run/repeat_command.h"
#include "run/stack_estimate.h"
#include "run/stack_outcome.h"

namespace lull::desk {

namespace {

namespace fs = std::filesystem;
using nlohmann::json;

constexpr std::array<const char*, 3> kRead = {"--dark", "--flat", "--flat-dark"};
constexpr const char* kWritten = "--share";
constexpr const char* kReport = "--report";

std::string text_of(const json& object, const char* key) {
  const json value = object.value(key, json(""));
  if (!value.is_string()) throw Problem(400, fmt::format("{}: this is no text", key));
  return files::name_of_text(value.get<std::string>());
}

std::vector<std::string> ids_in(const json& body) {
  const json ids = body.value("captures", json());
  std::vector<std::string> out;
  for (const json& id : ids.is_array() ? ids : json::array()) {
    if (id.is_string()) out.push_back(id.get<std::string>());
  }
  if (out.empty() || out.size() != ids.size())
    throw Problem(400, "captures: this is no list of ids", "GET /api/captures lists them");
  return out;
}

std::string readable_path(Parts& parts, const std::string& option, const json& value) {
  if (!value.is_string()) throw Problem(400, option + ": this is no name of a file");
  const std::string name = files::name_of_text(value.get<std::string>());
  for (const ListedCapture& capture : parts.catalogue.list().captures) {
    if (capture.found.id == name) return capture.found.path;
  }
  const fs::path path = fs::path(parts.request.folder) / name;
  std::error_code ignored;
  if (fs::path(name).is_absolute() || !capture::lies_within(path, parts.request.folder) ||
      !fs::exists(path, ignored)) {
    throw Problem(400, fmt::format("{}: the folder has no '{}'", option, name),
                  "give the id of a capture, or a name below the folder of the desk");
  }
  return path.string();
}

bool is_taken(Parts& parts, const std::string& name) {
  const std::string stem = result_stem(name);
  std::error_code error;
  for (fs::directory_iterator entry(parts.results.folder(), error), end; !error && entry != end;
       entry.increment(error)) {
    if (result_stem(entry->path().filename().string()) == stem) return true;
  }
  const auto jobs = parts.jobs.jobs();
  return std::any_of(jobs.begin(), jobs.end(), [&](const Job& job) {
    return !job.has_ended() && !job.facts.output.empty() && result_stem(job.facts.output) == stem;
  });
}

std::string free_name(Parts& parts, const std::string& input, const std::string& ending) {
  const std::string first = run::name_after(input, ending);
  const std::string stem = fs::path(first).stem().string();
  std::string name = first;
  for (int i = 2; is_taken(parts, name); ++i)
    name = fmt::format("{}_{}{}", stem, i, fs::path(first).extension().string());
  return name;
}

void make_folder(const fs::path& folder) {
  std::error_code error;
  fs::create_directories(folder, error);
  if (!fs::is_directory(folder, error)) {
    throw Problem(507, fmt::format("{}: the folder for results cannot be made", folder.string()),
                  "start the desk with --results and a folder that you may write to");
  }
}

JobOutcome stack_outcome(Parts& parts, const run::StackRequest& request, run::RunControl control) {
  parts.growing.clear();
  control.watcher = &parts.growing;
  const run::StackOutcome outcome = run::run_stack(request, control);
  parts.growing.clear();
  std::vector<std::string> warnings = outcome.notes;
  if (!outcome.caution.empty()) warnings.insert(warnings.begin(), outcome.caution);
  return {outcome.written, std::move(warnings)};
}

}  // namespace

json with_paths(Parts& parts, json options) {
  for (const char* name : kRead) {
    if (options.contains(name)) options[name] = readable_path(parts, name, options[name]);
  }
  if (options.contains(kWritten)) {
    const std::string name = text_of(options, kWritten);
    check_result_name(name);
    options[kWritten] = (parts.results.folder() / name).string();
  }
  const std::string report = text_of(options, kReport);
  if (!report.empty() && report != "auto" && report != "none")
    throw Problem(400, "--report: the desk writes the report beside the picture", "auto or none");
  return options;
}

std::string new_result(Parts& parts, const std::string& name, const std::string& input,
                       const std::string& ending) {
  if (!name.empty()) check_result_name(name);
  const std::string chosen = name.empty() ? free_name(parts, input, ending) : name;
  static_cast<void>(files::format_of(chosen));
  if (is_taken(parts, chosen)) {
    throw Problem(409, fmt::format("there is a result '{}' already", result_stem(chosen)),
                  "choose another name: nothing is overwritten");
  }
  make_folder(parts.results.folder());
  return (parts.results.folder() / chosen).string();
}

namespace {

// The captures and what is asked of them; no name for the result yet.
run::StackRequest stack_request(Parts& parts, const json& body, JobFacts& facts) {
  facts.verb = "stack";
  facts.captures = ids_in(body);
  facts.request = body;
  run::StackRequest request;
  for (const std::string& id : facts.captures) {
    const ListedCapture capture = parts.catalogue.capture(id);
    request.input.captures.push_back(capture.found.path);
    facts.names.push_back(capture.found.name);
  }
  const json options = body.value("options", json::object());
  if (!options.is_object()) throw Problem(400, "options: this is no JSON object");
  const json settled = with_paths(parts, options);
  run::StackRequest asked = request;
  apply_options(run::stack_options(), settled, {"capture", "--output"}, asked);
  run::apply_profile(*parts.instruments.current(), run::stack_options(), asked, request);
  apply_options(run::stack_options(), settled, {"capture", "--output"}, request);
  run::check_complete(run::stack_options(), request);
  run::check_look(request.look);
  return request;
}

// Of all captures together; none where one was not surveyed.
std::optional<double> ranking_time(const Parts& parts, const std::vector<ListedCapture>& captures) {
  double sum = 0;
  for (const ListedCapture& capture : captures) {
    const auto survey = parts.surveys.find(capture.found);
    if (!survey) return std::nullopt;
    sum += survey->ranking_s;
  }
  return sum;
}

}  // namespace

json estimate_stack_job(Parts& parts, const json& body) {
  JobFacts facts;
  run::StackRequest request = stack_request(parts, body, facts);
  const std::string name = text_of(body, "output");
  request.output = name.empty() ? run::name_after(request.input.capture(), "_stack.tif") : name;
  std::vector<ListedCapture> captures;
  std::vector<capture::CaptureInfo> infos;
  for (const std::string& id : facts.captures) {
    captures.push_back(parts.catalogue.capture(id));
    if (!captures.back().info)
      throw Problem(409, fmt::format("'{}' was not opened yet", captures.back().found.name),
                    "ask again");
    infos.push_back(*captures.back().info);
  }
  const run::StackEstimate estimate =
      run::estimate_stack(request, infos, ranking_time(parts, captures));
  return {{"time_s", estimate.time_s ? json(*estimate.time_s) : json()},
          {"results_bytes", std::llround(estimate.results_bytes)},
          {"memory_bytes", std::llround(estimate.memory_bytes)}};
}

Job create_stack_job(Parts& parts, const json& body) {
  JobFacts facts;
  run::StackRequest request = stack_request(parts, body, facts);
  request.output =
      new_result(parts, text_of(body, "output"), request.input.capture(), "_stack.tif");
  facts.output = fs::path(request.output).filename().string();
  facts.command = run::repeat_command("stack", run::stack_options(), request);
  JobWork work{run::stages_of(request), [&parts, request](const run::RunControl& control) {
                 return stack_outcome(parts, request, control);
               }};
  return parts.jobs.add(std::move(facts), std::move(work));
}

}  // namespace lull::desk
