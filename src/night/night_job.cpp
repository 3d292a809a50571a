#include "night/night_job.h"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>

#include "core/error.h"
#include "files/failure.h"
#include "files/name_text.h"
#include "run/profile_options.h"
#include "run/recipe_options.h"

namespace lull::night {

namespace {

using nlohmann::json;
using run::stack_options;
using run::StackRequest;

constexpr int kLineVersion = 1;

void set(StackRequest& request, const std::vector<profile::OptionSetting>& settings) {
  for (const profile::OptionSetting& setting : settings)
    run::set_all(run::option_named(stack_options(), setting.name), request, setting.values);
}

// What is asked of the picture besides the profile, in rising order of weight.
void set_own(const Picture& picture, const std::vector<profile::OptionSetting>& options,
             StackRequest& request) {
  request.input.captures = picture.captures;
  if (!picture.object.empty())
    run::option_named(stack_options(), "--object").set(request, picture.object);
  request.instrument.filter = picture.filter;
  set(request, picture.options);
  set(request, options);
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

LineOfJobs line_of(const json& line, const std::string& where) {
  if (line.value("lull_job", 0) != kLineVersion)
    throw InputError(where + ": this is no job of this version of lull; write the file again");
  LineOfJobs out;
  out.job.name = files::name_of_text(line.at("picture").get<std::string>());
  out.job.request = run::request_of(stack_options(), line.at("options"), where);
  out.results = files::name_of_text(line.at("results").get<std::string>());
  out.folder = files::name_of_text(line.at("folder").get<std::string>());
  for (const json& master : line.at("masters")) out.job.masters.push_back(master_in(master));
  out.job.request.output = NightFolder(out.results).picture(out.job.name);
  return out;
}

}  // namespace

std::vector<NightJob> jobs_of(const Plan& plan, const profile::Profile& profile,
                              const std::vector<profile::OptionSetting>& options,
                              const NightFolder& place) {
  std::vector<NightJob> jobs;
  for (const Picture& picture : plan.pictures) {
    NightJob job;
    job.name = picture.name;
    job.cost_bytes = picture.cost_bytes;
    job.need_bytes = picture.need_bytes;
    StackRequest asked;
    set_own(picture, options, asked);
    run::apply_profile(suited(profile, asked), stack_options(), asked, job.request);
    set_own(picture, options, job.request);
    add_masters(plan, picture.dark, job.masters);
    add_masters(plan, picture.flat, job.masters);
    if (plan.master(picture.dark) != nullptr) job.request.input.dark = place.master(picture.dark);
    if (plan.master(picture.flat) != nullptr) job.request.input.flat = place.master(picture.flat);
    job.need_bytes *= job.request.stacking.scale * job.request.stacking.scale;
    job.request.output = place.picture(picture.name);
    jobs.push_back(std::move(job));
  }
  std::stable_sort(jobs.begin(), jobs.end(), [](const NightJob& a, const NightJob& b) {
    return a.cost_bytes > b.cost_bytes;
  });
  return jobs;
}

std::string jobs_text(const std::vector<NightJob>& jobs, const NightFolder& place) {
  const std::string folder = std::filesystem::current_path().string();
  std::string text;
  int number = 0;
  for (const NightJob& job : jobs) {
    json masters = json::array();
    for (const Master& master : job.masters) masters.push_back(master_json(master));
    const json line = {{"lull_job", kLineVersion},
                       {"job", ++number},
                       {"picture", files::name_text(job.name)},
                       {"folder", files::name_text(folder)},
                       {"results", files::name_text(place.results().string())},
                       {"options", run::recipe_of(stack_options(), job.request)},
                       {"masters", masters}};
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
