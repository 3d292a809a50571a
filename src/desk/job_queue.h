#pragma once

#include <chrono>
#include <condition_variable>
#include <functional>
#include <list>
#include <mutex>
#include <string_view>
#include <thread>
#include <vector>

#include "core/cancel.h"
#include "desk/job.h"

namespace lull::desk {

/// Jobs, done one after the other by a thread of its own. Any thread.
class JobQueue {
 public:
  using OnChange = std::function<void(const Job&)>;

  static constexpr std::size_t kMostWaiting = 200;
  static constexpr std::size_t kMostEnded = 200;  ///< of which is known; the oldest are forgotten

  /// @param on_change  is called when a job was created, went on (5 times a second at most) or
  /// ended, from any thread and without a lock.
  JobQueue(run::Resources resources, OnChange on_change);

  /// Cancels all jobs, and waits for the one that runs.
  ~JobQueue();
  JobQueue(const JobQueue&) = delete;
  JobQueue& operator=(const JobQueue&) = delete;

  /// @throws Problem 503: too many jobs wait.
  Job add(JobFacts facts, JobWork work);

  /// One that an earlier desk left behind.
  void add_interrupted(JobFacts facts, std::int64_t created_s);

  /// The newest first.
  [[nodiscard]] std::vector<Job> jobs() const;

  // All throw Problem 404 where there is no such job.

  [[nodiscard]] Job job(int id) const;

  /// Ends it, at once where it waits.
  Job cancel(int id);

  /// @throws Problem 409: it has not ended.
  void forget(int id);

  /// Before its next step it waits, and keeps its memory. @throws Problem 409: it has ended.
  Job pause(int id);

  /// @throws Problem 409: it is not paused.
  Job resume(int id);

 private:
  using Clock = std::chrono::steady_clock;

  struct Entry {
    Job job;
    JobWork work;
    CancelToken cancel{};
    bool paused = false;
    bool started = false;
    run::RunShare share{{}};
    Clock::time_point begun{};
    Clock::duration stood{};  ///< while paused
    Clock::time_point told{};
  };

  template <class Entries>
  [[nodiscard]] static auto& find_in(Entries& entries, int id);
  [[nodiscard]] Entry* next_waiting();
  void work();
  void run(Entry& entry);
  void show(Entry& entry, std::string_view stage, std::int64_t done, std::int64_t total);
  void end(Entry& entry, JobState state);
  void forget_oldest();

  run::Resources resources_;
  OnChange on_change_;
  mutable std::mutex guard_;
  std::condition_variable changed_;
  std::list<Entry> entries_;  ///< in the order of creation
  int next_id_ = 1;
  bool ended_ = false;
  std::thread worker_;
};

}  // namespace lull::desk
