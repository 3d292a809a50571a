#pragma once

#include <chrono>
#include <functional>
#include <list>
#include <optional>
#include <string>
#include <vector>

#include "core/cancel.h"
#include "night/do_job.h"
#include "run/control.h"
#include "run/run_share.h"

namespace lull::night {

/// A job that is at work, for those who watch.
struct AtWork {
  std::string name;
  std::string stage;
  double share = 0;
};

/// How far a night is.
struct NightProgress {
  std::size_t done = 0;  ///< jobs that have ended, those that were done before too
  std::size_t total = 0;
  std::size_t failed = 0;
  double share = 0;                ///< of all work of this run
  std::optional<double> left_s{};  ///< for all
  std::vector<AtWork> at_work{};
};

/// Those who are told how a night goes on. From any thread, one at a time.
struct NightWatcher {
  std::function<void(const NightProgress&)> progress = [](const NightProgress&) {};
  std::function<void(const JobResult&, const NightProgress&)> ended = [](const JobResult&,
                                                                         const NightProgress&) {};
};

/// What side by side means here.
struct CrewSize {
  int jobs = 1;
  double memory_bytes = 0;  ///< for all
};

/// As many jobs as memory holds of the largest, and as the processor makes use of.
/// @param asked  0: as many as that; else so many.
[[nodiscard]] CrewSize crew_size(const std::vector<NightJob>& jobs, int asked,
                                 const run::Resources& resources);

/// Does jobs in their order, several side by side. One that needs more memory than is left waits
/// for others to end. What fails is recorded and counted; the others go on.
/// @throws Interrupted once the token is cancelled and all have stopped; OutputError where records
/// cannot be written.
[[nodiscard]] std::vector<JobResult> do_jobs(const std::vector<NightJob>& jobs,
                                             const NightFolder& place, const CrewSize& size,
                                             const run::Resources& resources,
                                             const CancelToken& cancel,
                                             const NightWatcher& watcher);

}  // namespace lull::night
