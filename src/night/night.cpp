#include "night/night.h"

#include <fmt/format.h>

#include <algorithm>
#include <ctime>
#include <filesystem>
#include <set>
#include <thread>

#include "core/error.h"
#include "files/atomic_file.h"
#include "night/claim.h"
#include "night/examine.h"
#include "night/growth.h"
#include "night/night_state.h"
#include "night/plan_file.h"
#include "night/write_summary.h"
#include "run/profile_options.h"

namespace lull::night {

namespace {

namespace fs = std::filesystem;
using Clock = std::chrono::steady_clock;

constexpr const char* kNoCapture =
    "it holds no capture; Lull reads SER, AVI, MP4, Matroska and FITS files, and numbered "
    "sequences of pictures";
constexpr auto kLookAgain = std::chrono::milliseconds(500);
constexpr auto kCancelLook = std::chrono::milliseconds(50);

bool is_plan(const std::string& place) { return place.ends_with(".toml"); }

std::int64_t now_s() { return static_cast<std::int64_t>(std::time(nullptr)); }

void wait(const CancelToken& cancel, std::chrono::milliseconds time) {
  for (const auto until = Clock::now() + time; Clock::now() < until;) {
    if (cancel.cancelled()) throw Interrupted();
    std::this_thread::sleep_for(kCancelLook);
  }
}

// One night in a folder at a time.
std::unique_ptr<Claim> claim_night(const NightFolder& place, const CancelToken& cancel) {
  auto claim = Claim::take(place.lock(), cancel, Claim::Holder::refuses);
  if (!claim) {
    throw UsageError(fmt::format(
        "{}: another night is at work in this folder ({}); wait for it, or give another folder",
        place.results().string(), Claim::holder(place.lock())));
  }
  return claim;
}

void check_folder(const std::string& place) {
  std::error_code ignored;
  if (fs::is_directory(place, ignored)) return;
  if (!fs::exists(place, ignored))
    throw InputError(fmt::format(
        "{}: cannot be read: there is no such folder; check its name, and that its disk is there",
        place));
  throw InputError(fmt::format(
      "{}: this is no folder; give the folder of the captures, or a plan that ends in .toml",
      place));
}

// Pictures among the captures would be captures of the next night.
void check_apart(const NightRequest& request) {
  std::error_code ignored;
  if (!fs::equivalent(request.place, request.results, ignored)) return;
  throw UsageError(
      fmt::format("-o {}: this is the folder of the captures; give another, such as one within it",
                  request.results));
}

void add_skipped(NightOutcome& outcome) {
  for (const JobResult& one : outcome.results) {
    if (one.record.skipped) outcome.left_out.push_back(left_out_of(one.record));
  }
}

/// A night at work: what it has done, and what waits.
class Work {
 public:
  Work(const NightRequest& request, profile::Profile profile, const NightControl& control)
      : request_(request),
        profile_(std::move(profile)),
        control_(control),
        place_(request.results) {}

  NightOutcome outcome() {
    if (!is_plan(request_.place)) check_folder(request_.place);
    check_apart(request_);
    const auto claim = claim_night(place_, control_.cancel);
    place_.remove_left_files();
    if (is_plan(request_.place)) {
      plan_ = plan_of(request_, profile_, control_.progress);
      save_plan(plan_, place_);
      do_new_jobs();
      write();
    } else {
      go_through_folder();
    }
    NightOutcome out = {plan_, std::move(results_), left_out(), {}};
    add_skipped(out);
    out.written = {place_.page(), place_.table(), place_.figures()};
    return out;
  }

 private:
  // Captures that still grow wait until the others are done; with --watch, for ever.
  void go_through_folder() {
    bool first = true;
    for (;;) {
      const bool changed = look();
      if (changed || first) {
        plan_ = plan_of(request_, profile_, control_.progress, growing_);
        save_plan(plan_, place_);
        do_new_jobs();
        write();
        first = false;
        // So long a capture that grows is waited for when all else is done.
        give_up_ = Clock::now() + 2 * Growth::kStill;
        continue;
      }
      const bool is_patient = !growing_.empty() && Clock::now() < give_up_;
      if (request_.watch == Watch::no && !is_patient) break;
      if (!waited()) break;
    }
  }

  // Ctrl-C is how a watch ends, when nothing is at work.
  bool waited() const {
    try {
      wait(control_.cancel, kLookAgain);
      return true;
    } catch (const Interrupted&) {
      if (request_.watch == Watch::yes) return false;
      throw;
    }
  }

  // @return whether there is something new that is complete.
  bool look() {
    const capture::FolderContent content = capture::captures_in(request_.place, request_.results);
    growth_.look(content.captures, Clock::now(), now_s());
    std::set<std::pair<std::string, std::uintmax_t>> complete;
    growing_.clear();
    for (const capture::FoundCapture& found : content.captures) {
      if (growth_.may_grow(found.path)) {
        growing_.insert(found.path);
      } else {
        complete.emplace(found.path, found.bytes);
      }
    }
    const bool changed = complete != complete_;
    complete_ = std::move(complete);
    return changed;
  }

  [[nodiscard]] std::vector<LeftOut> left_out() const {
    std::vector<LeftOut> out = plan_.left_out;
    for (const std::string& capture : growing_)
      out.push_back({capture, "it still grows; run the night again when it is complete", true});
    return out;
  }

  // A picture is done once in a run, unless what it is made of changed.
  void do_new_jobs() {
    std::vector<NightJob> jobs = jobs_of(plan_, profile_, request_.options, place_);
    plan_.notes = notes_of(jobs);
    if (jobs.empty()) return;
    const CrewSize size = crew_size(jobs, request_.jobs, control_.resources);
    NightWatcher watcher = control_.watcher;
    watcher.ended = [&](const JobResult& result, const NightProgress& progress) {
      // In a later round what was done before is no news.
      const bool is_news = result.fate != Fate::there_already || round_ == 0;
      if (is_news) control_.watcher.ended(result, progress);
      if (request_.watch == Watch::yes && is_news) write();
    };
    std::vector<JobResult> results =
        do_jobs(jobs, place_, size, control_.resources, control_.cancel, watcher);
    ++round_;
    for (JobResult& result : results) keep(std::move(result));
  }

  void keep(JobResult result) {
    const auto earlier = std::find_if(results_.begin(), results_.end(), [&](const auto& one) {
      return one.record.name == result.record.name;
    });
    if (earlier == results_.end()) {
      results_.push_back(std::move(result));
    } else if (result.fate != Fate::there_already) {
      *earlier = std::move(result);
    }
  }

  // Of the plan: what a former night made of captures that are gone is not shown.
  void write() const {
    const std::set<std::string> names = plan_.names();
    std::vector<Record> records = load_records(place_);
    std::erase_if(records, [&](const Record& one) { return !names.contains(one.name); });
    write_summary(summary_of(std::move(records), left_out(), plan_.sets), place_);
  }

  const NightRequest& request_;
  profile::Profile profile_;
  const NightControl& control_;
  NightFolder place_;
  Plan plan_;
  Growth growth_;
  Clock::time_point give_up_{};
  std::set<std::pair<std::string, std::uintmax_t>> complete_;
  std::set<std::string> growing_;
  std::vector<JobResult> results_;
  int round_ = 0;
};

}  // namespace

std::size_t NightOutcome::count(Fate fate) const {
  return static_cast<std::size_t>(std::count_if(
      results.begin(), results.end(), [fate](const JobResult& one) { return one.fate == fate; }));
}

std::size_t NightOutcome::problems() const {
  const std::size_t here =
      count(Fate::failed) +
      static_cast<std::size_t>(std::count_if(left_out.begin(), left_out.end(),
                                             [](const auto& one) { return one.is_problem; }));
  // What a merge lacked failed elsewhere, and was counted where all jobs are.
  const bool has_lack = std::any_of(results.begin(), results.end(), [](const JobResult& one) {
    return one.fate == Fate::skipped && !one.record.parts.empty();
  });
  return here == 0 && has_lack ? 1 : here;
}

Plan plan_of(const NightRequest& request, profile::Profile& profile, const Progress& progress,
             const std::set<std::string>& growing) {
  if (is_plan(request.place)) {
    Plan plan = read_plan(request.place);
    if (profile.path.empty() && !plan.profile.empty()) profile = run::load_profile(plan.profile);
    return plan;
  }
  check_folder(request.place);
  Examined found = examine(request.place, request.results, profile, progress);
  if (found.captures.empty() && found.left_out.empty())
    found.left_out.push_back({request.place, kNoCapture, false});
  std::erase_if(found.captures, [&](const Facts& one) { return growing.contains(one.found.path); });
  Plan plan =
      make_plan(std::move(found.captures), found.calibration, request.join, request.merging);
  plan.folder = request.place;
  plan.profile = profile.path;
  plan.left_out.insert(plan.left_out.end(), found.left_out.begin(), found.left_out.end());
  return plan;
}

NightOutcome run_plan(const NightRequest& request, profile::Profile profile,
                      const NightControl& control) {
  const CancelScope scope(&control.cancel);
  NightOutcome out;
  out.plan = plan_of(request, profile, control.progress);
  out.left_out = out.plan.left_out;
  const NightFolder place(request.results);
  const std::vector<NightJob> jobs = jobs_of(out.plan, profile, request.options, place);
  out.plan.notes = notes_of(jobs);
  if (request.jobs_file.empty()) return out;
  save_plan(out.plan, place);
  files::write_file(request.jobs_file, jobs_text(jobs, place));
  out.written.push_back(request.jobs_file);
  return out;
}

NightOutcome run_night(const NightRequest& request, profile::Profile profile,
                       const NightControl& control) {
  const CancelScope scope(&control.cancel);
  return Work(request, std::move(profile), control).outcome();
}

NightOutcome run_job(const NightRequest& request, const NightControl& control) {
  const CancelScope scope(&control.cancel);
  const LineOfJobs line = job_in_file(request.jobs_file, request.job);
  std::error_code error;
  fs::current_path(line.folder, error);
  if (error)
    throw InputError(fmt::format(
        "{}: job {} is to run in {}, which is not there ({}); all machines need the same folders",
        request.jobs_file, request.job, line.folder, error.message()));
  const std::vector<NightJob> jobs = {line.job};
  NightOutcome out;
  out.results = do_jobs(jobs, NightFolder(line.results),
                        {1, static_cast<double>(control.resources.memory_bytes)}, control.resources,
                        control.cancel, control.watcher);
  add_skipped(out);
  return out;
}

NightOutcome run_gather(const NightRequest& request) {
  const NightFolder place(request.results);
  std::vector<Record> records = load_records(place);
  NotedPlan plan;
  if (auto noted = noted_plan(place)) {
    plan = std::move(*noted);
    std::erase_if(records, [&](const Record& one) { return !plan.names.contains(one.name); });
  }
  for (const Record& record : records) plan.names.erase(record.name);
  if (records.empty() && plan.names.empty() && plan.left_out.empty())
    throw InputError(
        fmt::format("{}: no night has been here; there is nothing to gather", request.results));
  for (const std::string& name : plan.names)
    plan.left_out.push_back({name, "not made yet; run its job, or the night", true});
  place.remove_left_files();
  NightOutcome out;
  out.left_out = plan.left_out;
  for (const Record& record : records)
    out.results.push_back({record.done      ? Fate::there_already
                           : record.skipped ? Fate::skipped
                                            : Fate::failed,
                           record});
  add_skipped(out);
  write_summary(summary_of(std::move(records), std::move(plan.left_out), std::move(plan.sets)),
                place);
  out.written = {place.page(), place.table(), place.figures()};
  return out;
}

}  // namespace lull::night
