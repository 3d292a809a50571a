#include "night/night_request.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/error.h"
#include "run/option_kinds.h"
#include "run/stack_request.h"

namespace lull::night {

namespace {

using run::Option;
using run::OptionFacts;
using run::OptionGroup;
using run::OptionTable;

constexpr int kMostJobs = 256;
constexpr int kMostLines = 1'000'000;

// What the night sets itself, or what belongs to one capture.
bool is_own(const OptionFacts& facts) {
  static const std::vector<std::string> own = {"--dark",   "--flat",    "--flat-dark",
                                               "--frames", "--exclude", "--crop"};
  return facts.by_place() || facts.in_recipe == run::InRecipe::no ||
         std::find(own.begin(), own.end(), facts.name) != own.end();
}

// An option of every picture: checked now, set later.
Option<NightRequest> picture_option(const Option<run::StackRequest>& option) {
  Option<NightRequest> out;
  out.facts = option.facts;
  out.facts.in_recipe = run::InRecipe::no;
  const std::string name = option.facts.name;
  out.set = [option](NightRequest& request, const std::string& text) {
    run::StackRequest scratch;
    option.set(scratch, text);
    std::erase_if(request.options, [&](const auto& one) { return one.name == option.facts.name; });
    request.options.push_back({option.facts.name, {text}, 0});
  };
  out.get = [option](const NightRequest& request) -> nlohmann::json {
    for (const profile::OptionSetting& one : request.options) {
      if (one.name == option.facts.name) return one.values.front();
    }
    return option.get(run::StackRequest{});
  };
  return out;
}

Option<NightRequest> action_option(const char* name, const char* help, Action action) {
  return run::switch_option<NightRequest>(
      {.name = name, .group = OptionGroup::results, .help = help}, &NightRequest::action,
      Action::run, action);
}

void add_main(OptionTable<NightRequest>& table) {
  table.push_back(run::file_option<NightRequest>(
      {.name = "place",
       .value = "FOLDER",
       .group = OptionGroup::input,
       .help = "Folder of the captures; or a plan, such as night.toml"},
      &NightRequest::place));
  table.push_back(
      run::file_option<NightRequest>({.name = "--output",
                                      .value = "FOLDER",
                                      .group = OptionGroup::results,
                                      .help = "Folder for the results, made when needed",
                                      .short_name = "-o"},
                                     &NightRequest::results));
  table.push_back(action_option("--plan", "Print what would be done and why, and change nothing",
                                Action::plan));
  table.push_back(
      action_option("--gather", "Write the page and the tables of what is done", Action::gather));
  table.push_back(run::switch_option<NightRequest>(
      {.name = "--watch",
       .group = OptionGroup::input,
       .help = "Go on with new captures, as the camera writes them, until Ctrl-C"},
      &NightRequest::watch, Watch::no, Watch::yes));
  table.push_back(run::word_option<NightRequest>(
      {.name = "--join",
       .value = "none|repeats",
       .group = OptionGroup::input,
       .help = "repeats: one picture of captures of the same target, filter and panel"},
      &NightRequest::join, run::Words<Join>{{Join::none, "none"}, {Join::repeats, "repeats"}}));
  table.push_back(run::word_option<NightRequest>(
      {.name = "--merge",
       .value = "colours|none",
       .group = OptionGroup::input,
       .help = "colours: a picture in colour besides, of captures through R, G and B"},
      &NightRequest::merging,
      run::Words<Merging>{{Merging::colours, "colours"}, {Merging::none, "none"}}));
}

void add_jobs(OptionTable<NightRequest>& table) {
  table.push_back(run::parsed_option<NightRequest>(
      {.name = "--jobs",
       .value = "auto|N",
       .group = OptionGroup::machine,
       .help = "Captures at work side by side; auto = as many as memory allows"},
      &NightRequest::jobs,
      [](const std::string& text) {
        if (text == "auto") return 0;
        return static_cast<int>(run::whole_number_within("--jobs", text, 1, kMostJobs));
      },
      [](int jobs) { return jobs == 0 ? std::string("auto") : std::to_string(jobs); }));
  table.push_back(run::file_option<NightRequest>(
      {.name = "--jobs-file",
       .value = "FILE",
       .group = OptionGroup::machine,
       .help = "One job a line, for several machines: with --plan it is written, with --job read"},
      &NightRequest::jobs_file));
  table.push_back(run::parsed_option<NightRequest>(
      {.name = "--job",
       .value = "N",
       .group = OptionGroup::machine,
       .help = "Do this line of the jobs file alone",
       .needs = {"--jobs-file"}},
      &NightRequest::job,
      [](const std::string& text) {
        return static_cast<int>(run::whole_number_within("--job", text, 1, kMostLines));
      },
      [](int job) { return job == 0 ? std::string() : std::to_string(job); }));
}

OptionTable<NightRequest> make_options() {
  OptionTable<NightRequest> table;
  add_main(table);
  add_jobs(table);
  for (const auto& option : run::stack_options()) {
    if (!is_own(option.facts)) table.push_back(picture_option(option));
  }
  return table;
}

}  // namespace

const OptionTable<NightRequest>& night_options() {
  static const OptionTable<NightRequest> table = make_options();
  return table;
}

void check_request(const NightRequest& request) {
  run::check_complete(night_options(), request);
  if (request.job > 0) {
    if (request.action != Action::run)
      throw UsageError("--job does one job; leave --plan and --gather out");
    return;
  }
  if (!request.jobs_file.empty() && request.action != Action::plan)
    throw UsageError("--jobs-file: give --plan to write it, or --job N to do a line of it");
  if (request.action == Action::gather) {
    if (request.results.empty()) throw UsageError("night --gather: name the results with -o");
    return;
  }
  if (request.place.empty())
    throw UsageError("night: name the folder of the captures, or a plan such as night.toml");
  if (request.results.empty() && (request.action == Action::run || !request.jobs_file.empty()))
    throw UsageError("night: name the folder for the results with -o, or give --plan");
  if (request.watch == Watch::yes && request.action != Action::run)
    throw UsageError("--watch and --plan: leave one of the two out");
}

}  // namespace lull::night
