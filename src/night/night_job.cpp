#include "night/night_job.h"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <set>

#include "core/error.h"
#include "files/failure.h"
#include "files/name_text.h"
#include "run/profile_options.h"
#include "run/recipe_options.h"

namespace lull::night {

namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using run::merge_options;
using run::MergeRequest;
using run::stack_options;
using run::StackRequest;

constexpr const char* kPicture = ".tif";
constexpr const char* kFits = ".fits";

constexpr int kLineVersion = 2;

// Of the time of stacking its parts: a guide for the time left, nothing more.
constexpr double kCostOfMerge = 0.05;

using Settings = std::vector<profile::OptionSetting>;

// Of those settings what this table knows: what is given for all pictures counts for merges too, as
// far as they have it.
template <class Request>
void set(const run::OptionTable<Request>& table, Request& request, const Settings& settings) {
  for (const profile::OptionSetting& setting : settings) {
    const auto option = std::find_if(table.begin(), table.end(), [&](const auto& one) {
      return one.facts.name == setting.name;
    });
    if (option != table.end()) run::set_all(*option, request, setting.values);
  }
}

// What is asked of a picture besides the profile, in rising order of weight.
template <class Request>
void set_own(const run::OptionTable<Request>& table, const std::string& object, const Settings& own,
             const Settings& options, Request& request) {
  if (!object.empty()) run::option_named(table, "--object").set(request, object);
  set(table, request, own);
  set(table, request, options);
}

void set_own(const Picture& picture, const Settings& options, StackRequest& request) {
  request.input.captures = picture.captures;
  request.instrument.filter = picture.filter;
  set_own(stack_options(), picture.object, picture.options, options, request);
}

// A filter that the profile does not list has a name alone.
profile::Profile suited(const profile::Profile& profile, const StackRequest& asked) {
  profile::Profile out = profile;
  if (out.filter(asked.instrument.filter) == nullptr) out.filters.clear();
  return out;
}

void add_masters(const Plan& plan, const std::string& name, std::vector<Master>& masters) {
  const Master* master = plan.master(name);
  if (master == nullptr) return;
  const bool known = std::any_of(masters.begin(), masters.end(),
                                 [&](const Master& one) { return one.name == name; });
  if (known) return;
  if (!master->flat_dark.empty()) add_masters(plan, master->flat_dark, masters);
  masters.push_back(*master);
}

// Without anything to finish the picture is the linear stack: as a FITS file it can be merged.
bool is_linear(const StackRequest& request) {
  run::Look look = request.look;
  if (request.finish == run::FinishChoice::none) look.detail = run::LeaveDetail{};
  return !look.changes_picture(false);
}

std::string linear_stack_of(const NightJob& part) {
  const fs::path picture = part.output();
  return picture.extension() == kFits
             ? picture.string()
             : fs::path(picture).replace_extension(".linear.fits").string();
}

// A part has one colour: options for colours are for the picture that it is merged to.
void leave_colours(run::Look& look) {
  const run::Look plain;
  look.white_balance = plain.white_balance;
  look.saturation = plain.saturation;
  look.channel_offsets = plain.channel_offsets;
}

std::set<std::string> names_of(const Settings& settings) {
  std::set<std::string> out;
  for (const profile::OptionSetting& one : settings) out.insert(one.name);
  return out;
}

// Leaves out of a request what it cannot have.
template <class Request>
void suit(const Settings& own, Request& request, NightJob& job) {
  job.unsuited = leave_unsuited(request, names_of(own));
  for (Unsuited& one : job.unsuited) one.picture = job.name;
}

NightJob job_of(const Picture& picture, const Plan& plan, const profile::Profile& profile,
                const Settings& options, const NightFolder& place) {
  NightJob job;
  job.name = picture.name;
  job.copy_of = picture.copy_of;
  job.cost_bytes = picture.cost_bytes;
  job.need_bytes = picture.need_bytes;
  StackRequest asked;
  set_own(picture, options, asked);
  StackRequest request;
  run::apply_profile(suited(profile, asked), stack_options(), asked, request);
  set_own(picture, options, request);
  add_masters(plan, picture.dark, job.masters);
  add_masters(plan, picture.flat, job.masters);
  if (plan.master(picture.dark) != nullptr) request.input.dark = place.master(picture.dark);
  if (plan.master(picture.flat) != nullptr) request.input.flat = place.master(picture.flat);
  job.need_bytes *= request.stacking.scale * request.stacking.scale;
  const bool is_part = std::any_of(plan.merges.begin(), plan.merges.end(), [&](const Merge& one) {
    const std::vector<std::string> parts = one.parts();
    return std::find(parts.begin(), parts.end(), picture.name) != parts.end();
  });
  if (is_part) leave_colours(request.look);
  suit(picture.options, request, job);
  request.output = place.picture(picture.name, is_part && is_linear(request) ? kFits : kPicture);
  job.request = std::move(request);
  return job;
}

// Each filter has an exposure of its own: where no published colour sets it right, grey does.
void settle_colour(run::Look& look) {
  const bool is_open =
      look.white_balance == run::WhiteBalanceChoice(run::WhiteBalanceRule::automatic);
  if (is_open && !run::published_colour(look.object))
    look.white_balance = run::WhiteBalanceRule::grey;
}

NightJob job_of(const Merge& merge, const std::vector<NightJob>& pictures,
                const profile::Profile& profile, const Settings& options,
                const NightFolder& place) {
  NightJob job;
  job.name = merge.name;
  for (const std::string& part : merge.parts()) {
    job.parts.push_back(*std::find_if(pictures.begin(), pictures.end(),
                                      [&](const NightJob& one) { return one.name == part; }));
    job.cost_bytes += kCostOfMerge * job.parts.back().cost_bytes;
    // Joining takes less for a pixel than stacking: run/run_merge.cpp, run/memory_need.cpp.
    job.need_bytes = std::max(job.need_bytes, job.parts.back().need_bytes);
  }
  MergeRequest asked;
  set_own(merge_options(), merge.object, merge.options, options, asked);
  MergeRequest request;
  run::apply_profile(profile, merge_options(), asked, request);
  set_own(merge_options(), merge.object, merge.options, options, request);
  if (job.parts.front().stack().finish == run::FinishChoice::none)
    request.look.detail = run::LeaveDetail{};
  suit(merge.options, request, job);
  settle_colour(request.look);
  request.red = linear_stack_of(job.parts[0]);
  request.green = linear_stack_of(job.parts[1]);
  request.blue = linear_stack_of(job.parts[2]);
  if (job.parts.size() > 3) request.luminance = linear_stack_of(job.parts[3]);
  request.output = place.picture(merge.name, kPicture);
  job.request = std::move(request);
  return job;
}

json master_json(const Master& master) {
  return {{"name", files::name_text(master.name)},
          {"kind", kind_name(master.kind)},
          {"captures", files::name_texts(master.captures)},
          {"flat_dark", files::name_text(master.flat_dark)}};
}

Master master_in(const json& line) {
  Master master;
  master.name = files::name_of_text(line.at("name").get<std::string>());
  master.kind = line.at("kind") == "flat" ? Kind::flat : Kind::dark;
  for (const json& capture : line.at("captures"))
    master.captures.push_back(files::name_of_text(capture.get<std::string>()));
  master.flat_dark = files::name_of_text(line.at("flat_dark").get<std::string>());
  return master;
}

json job_json(const NightJob& job) {
  json masters = json::array();
  for (const Master& master : job.masters) masters.push_back(master_json(master));
  json parts = json::array();
  for (const NightJob& part : job.parts) parts.push_back(job_json(part));
  return {{"picture", files::name_text(job.name)},
          {"ending", fs::path(job.output()).extension().string()},
          {"options", job.is_merge() ? run::recipe_of(merge_options(), job.merge())
                                     : run::recipe_of(stack_options(), job.stack())},
          {"copy_of", files::name_text(job.copy_of)},
          {"masters", masters},
          {"parts", parts}};
}

NightJob job_in(const json& line, const NightFolder& place, const std::string& where) {
  NightJob job;
  job.name = files::name_of_text(line.at("picture").get<std::string>());
  job.copy_of = files::name_of_text(line.at("copy_of").get<std::string>());
  for (const json& master : line.at("masters")) job.masters.push_back(master_in(master));
  for (const json& part : line.at("parts")) {
    if (!part.at("parts").empty())
      throw InputError(where + ": a part of a picture in colour has parts; write the file again");
    job.parts.push_back(job_in(part, place, where));
  }
  const std::string ending = line.at("ending") == kFits ? kFits : kPicture;
  const auto with_output = [&](auto request) {
    request.output = place.picture(job.name, ending);
    return request;
  };
  if (job.is_merge()) {
    job.request = with_output(run::request_of(merge_options(), line.at("options"), where));
  } else {
    job.request = with_output(run::request_of(stack_options(), line.at("options"), where));
  }
  return job;
}

LineOfJobs line_of(const json& line, const std::string& where) {
  if (line.value("lull_job", 0) != kLineVersion)
    throw InputError(where + ": this is no job of this version of lull; write the file again");
  LineOfJobs out;
  out.results = files::name_of_text(line.at("results").get<std::string>());
  out.folder = files::name_of_text(line.at("folder").get<std::string>());
  out.job = job_in(line, NightFolder(out.results), where);
  return out;
}

}  // namespace

const std::string& NightJob::output() const {
  return std::visit([](const auto& one) -> const std::string& { return one.output; }, request);
}

std::string NightJob::report_path() const {
  return std::visit([](const auto& one) { return one.report_path(); }, request);
}

const run::Look& NightJob::look() const {
  return std::visit([](const auto& one) -> const run::Look& { return one.look; }, request);
}

std::vector<std::string> NightJob::inputs() const {
  return is_merge() ? merge().stacks() : stack().input.files();
}

std::vector<std::string> NightJob::captures() const {
  if (!is_merge()) return stack().input.captures;
  std::vector<std::string> out;
  for (const NightJob& part : parts) {
    const std::vector<std::string> more = part.captures();
    out.insert(out.end(), more.begin(), more.end());
  }
  return out;
}

std::vector<NightJob> jobs_of(const Plan& plan, const profile::Profile& profile,
                              const std::vector<profile::OptionSetting>& options,
                              const NightFolder& place) {
  std::vector<NightJob> jobs;
  jobs.reserve(plan.pictures.size() + plan.merges.size());
  for (const Picture& picture : plan.pictures)
    jobs.push_back(job_of(picture, plan, profile, options, place));
  std::stable_sort(jobs.begin(), jobs.end(), [](const NightJob& a, const NightJob& b) {
    return a.cost_bytes > b.cost_bytes;
  });
  for (const Merge& merge : plan.merges)
    jobs.push_back(job_of(merge, jobs, profile, options, place));
  return jobs;
}

std::vector<std::string> notes_of(const std::vector<NightJob>& jobs) {
  std::vector<Unsuited> all;
  for (const NightJob& job : jobs) all.insert(all.end(), job.unsuited.begin(), job.unsuited.end());
  return notes_of(all);
}

std::string jobs_text(const std::vector<NightJob>& jobs, const NightFolder& place) {
  const std::string folder = std::filesystem::current_path().string();
  std::string text;
  int number = 0;
  for (const NightJob& job : jobs) {
    json line = job_json(job);
    line["lull_job"] = kLineVersion;
    line["job"] = ++number;
    line["folder"] = files::name_text(folder);
    line["results"] = files::name_text(place.results().string());
    text += line.dump() + "\n";
  }
  return text;
}

LineOfJobs job_in_file(const std::string& path, int number) {
  if (const std::string why = files::why_unreadable(path); !why.empty())
    throw InputError(fmt::format("cannot read '{}': {}", path, why));
  std::ifstream file(path);
  std::string line;
  for (int i = 0; i < number; ++i) {
    if (!std::getline(file, line))
      throw InputError(fmt::format("{}: there is no job {}; the file has {}", path, number, i));
  }
  const std::string where = fmt::format("{}:{}", path, number);
  try {
    return line_of(json::parse(line), where);
  } catch (const json::exception& error) {
    throw InputError(fmt::format("{}: this is no job that lull wrote: {}", where, error.what()));
  }
}

}  // namespace lull::night
