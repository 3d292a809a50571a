#include "night/crew.h"

#include <algorithm>
#include <condition_variable>
#include <exception>
#include <map>
#include <mutex>
#include <thread>
#include <variant>

#include "core/error.h"
#include "core/parallel.h"
#include "run/memory_size.h"

namespace lull::night {

namespace {

using Clock = std::chrono::steady_clock;

// Runs have parts in which one thread works: two side by side fill them. More take memory, and
// share the disk (common practice, no source).
constexpr int kThreadsAJob = 2;
constexpr int kFewestSideBySide = 2;
constexpr double kMostOfFree = 0.6;
constexpr auto kTellEvery = std::chrono::milliseconds(100);

/// The jobs of a crew that wait, are at work and have ended.
class Crew {
 public:
  Crew(const std::vector<NightJob>& jobs, const NightFolder& place, const CrewSize& size,
       const run::Resources& resources, const CancelToken& cancel, const NightWatcher& watcher)
      : jobs_(jobs),
        place_(place),
        size_(size),
        resources_(resources),
        cancel_(cancel),
        watcher_(watcher),
        results_(jobs.size()),
        taken_(jobs.size(), false),
        ended_(jobs.size(), false),
        needed_(jobs.size()) {
    std::map<std::string, std::size_t> by_name;
    for (std::size_t i = 0; i < jobs.size(); ++i) {
      all_cost_ += cost(jobs[i]);
      by_name[jobs[i].name] = i;
      for (const NightJob& part : jobs[i].parts) {
        if (const auto found = by_name.find(part.name); found != by_name.end())
          needed_[i].push_back(found->second);
      }
    }
  }

  std::vector<JobResult> work() {
    {
      std::vector<std::jthread> threads;
      for (int i = 0; i < size_.jobs; ++i) threads.emplace_back([this] { work_as_one(); });
    }
    if (error_) std::rethrow_exception(error_);
    if (cancel_.cancelled()) throw Interrupted();
    return std::move(results_);
  }

 private:
  struct Working {
    std::size_t index;
    run::RunShare share;
    std::string stage{};
    double memory = 0;
  };

  // So that jobs of unknown size count as well.
  static double cost(const NightJob& job) { return std::max(job.cost_bytes, 1.0); }

  static std::vector<run::Stage> stages_of(const NightJob& job) {
    return std::visit([](const auto& request) { return run::stages_of(request); }, job.request);
  }

  void work_as_one() {
    const CancelScope scope(&cancel_);
    std::unique_lock lock(guard_);
    for (;;) {
      if (error_ || cancel_.cancelled()) break;
      const std::optional<std::size_t> next = next_that_fits();
      if (!next && std::all_of(taken_.begin(), taken_.end(), [](bool one) { return one; })) break;
      if (!next) {
        changed_.wait(lock);
        continue;
      }
      do_one(*next, lock);
      changed_.notify_all();
    }
    changed_.notify_all();
  }

  // Where nobody is at work, any fits: the run itself says what it lacks.
  std::optional<std::size_t> next_that_fits() const {
    for (std::size_t i = 0; i < jobs_.size(); ++i) {
      if (taken_[i] || !has_its_parts(i)) continue;
      if (working_.empty() || jobs_[i].need_bytes <= free_memory()) return i;
    }
    return std::nullopt;
  }

  bool has_its_parts(std::size_t index) const {
    return std::all_of(needed_[index].begin(), needed_[index].end(),
                       [this](std::size_t part) { return ended_[part]; });
  }

  double free_memory() const {
    double free = size_.memory_bytes;
    for (const Working& one : working_) free -= one.memory;
    return free;
  }

  void do_one(std::size_t index, std::unique_lock<std::mutex>& lock) {
    const NightJob& job = jobs_[index];
    taken_[index] = true;
    const double fair = size_.memory_bytes / size_.jobs;
    const double memory = working_.empty() && job.need_bytes > size_.memory_bytes
                              ? job.need_bytes
                              : std::min(std::max(fair, job.need_bytes), free_memory());
    const auto self =
        working_.insert(working_.end(), Working{index, run::RunShare(stages_of(job)), {}, memory});
    run::RunControl control;
    control.resources = resources_;
    control.resources.memory_bytes = static_cast<std::size_t>(std::max(memory, 0.0));
    control.progress =
        Progress([this, self](std::string_view stage, std::int64_t done,
                              std::int64_t total) { show(*self, stage, done, total); },
                 cancel_);
    lock.unlock();
    std::exception_ptr error;
    JobResult result;
    try {
      result = do_job(job, place_, control, cancel_);
    } catch (...) {
      error = std::current_exception();
    }
    lock.lock();
    working_.erase(self);
    if (error) {
      if (!error_) error_ = error;
      return;
    }
    end(index, std::move(result));
  }

  void end(std::size_t index, JobResult result) {
    ++done_;
    ended_[index] = true;
    if (result.fate == Fate::failed) ++failed_;
    const double of_job = cost(jobs_[index]);
    if (result.fate == Fate::there_already) {
      all_cost_ -= of_job;
    } else {
      done_cost_ += of_job;
    }
    results_[index] = std::move(result);
    watcher_.ended(results_[index], progress());
  }

  void show(Working& self, std::string_view stage, std::int64_t done, std::int64_t total) {
    const std::scoped_lock lock(guard_);
    self.share.advance(stage, done, total);
    self.stage = stage;
    const auto now = Clock::now();
    if (now - told_ < kTellEvery) return;
    told_ = now;
    watcher_.progress(progress());
  }

  NightProgress progress() const {
    NightProgress out;
    out.done = done_;
    out.total = jobs_.size();
    out.failed = failed_;
    double worked = done_cost_;
    for (const Working& one : working_) {
      worked += one.share.share() * cost(jobs_[one.index]);
      out.at_work.push_back({jobs_[one.index].name, one.stage, one.share.share()});
    }
    out.share = all_cost_ > 0 ? worked / all_cost_ : 1;
    constexpr double kLeastShare = 0.02;
    const double passed_s = std::chrono::duration<double>(Clock::now() - begun_).count();
    if (out.share >= kLeastShare) out.left_s = passed_s * (1 - out.share) / out.share;
    return out;
  }

  const std::vector<NightJob>& jobs_;
  const NightFolder& place_;
  const CrewSize& size_;
  run::Resources resources_;
  const CancelToken& cancel_;
  const NightWatcher& watcher_;
  std::mutex guard_;  ///< of all that follows
  std::condition_variable changed_;
  std::vector<JobResult> results_;
  std::vector<bool> taken_;
  std::vector<bool> ended_;
  std::vector<std::vector<std::size_t>> needed_;  ///< the jobs whose pictures each one merges
  std::list<Working> working_;
  std::exception_ptr error_;
  std::size_t done_ = 0;
  std::size_t failed_ = 0;
  double all_cost_ = 0;
  double done_cost_ = 0;
  Clock::time_point begun_ = Clock::now();
  Clock::time_point told_{};
};

}  // namespace

CrewSize crew_size(const std::vector<NightJob>& jobs, int asked, const run::Resources& resources) {
  CrewSize size;
  size.memory_bytes = resources.memory_bytes > 0 ? static_cast<double>(resources.memory_bytes)
                                                 : kMostOfFree * run::free_memory();
  double largest = 1;
  for (const NightJob& job : jobs) largest = std::max(largest, job.need_bytes);
  const int useful = std::max(kFewestSideBySide, thread_count() / kThreadsAJob);
  const int held = static_cast<int>(std::clamp(size.memory_bytes / largest, 1.0, 1024.0));
  size.jobs = asked > 0 ? asked : std::min(useful, held);
  size.jobs = std::clamp(size.jobs, 1, std::max(1, static_cast<int>(jobs.size())));
  return size;
}

std::vector<JobResult> do_jobs(const std::vector<NightJob>& jobs, const NightFolder& place,
                               const CrewSize& size, const run::Resources& resources,
                               const CancelToken& cancel, const NightWatcher& watcher) {
  return Crew(jobs, place, size, resources, cancel, watcher).work();
}

}  // namespace lull::night
