#include "desk/job_queue.h"

#include <fmt/format.h>
#include <malloc.h>

#include <algorithm>
#include <ctime>
#include <utility>

#include "core/error.h"

namespace lull::desk {

namespace {

constexpr std::chrono::milliseconds kNewsEvery{200};

std::int64_t now_s() { return static_cast<std::int64_t>(std::time(nullptr)); }

}  // namespace

template <class Entries>
auto& JobQueue::find_in(Entries& entries, int id) {
  const auto found = std::find_if(entries.begin(), entries.end(),
                                  [id](const Entry& entry) { return entry.job.id == id; });
  if (found == entries.end())
    throw Problem(404, fmt::format("there is no job {}", id), "GET /api/jobs lists them");
  return *found;
}

JobQueue::JobQueue(run::Resources resources, OnChange on_change)
    : resources_(resources), on_change_(std::move(on_change)) {
  worker_ = std::thread([this] { work(); });
}

JobQueue::~JobQueue() {
  {
    const std::scoped_lock lock(guard_);
    ended_ = true;
    for (const Entry& entry : entries_) entry.cancel.cancel();
  }
  changed_.notify_all();
  worker_.join();
}

Job JobQueue::add(JobFacts facts, JobWork work) {
  Job job;
  {
    const std::scoped_lock lock(guard_);
    const auto waiting = static_cast<std::size_t>(
        std::count_if(entries_.begin(), entries_.end(),
                      [](const Entry& entry) { return !entry.job.has_ended(); }));
    if (waiting >= kMostWaiting)
      throw Problem(503, fmt::format("{} jobs wait already", waiting), "cancel some of them");
    Entry entry;
    entry.job.id = next_id_++;
    entry.job.facts = std::move(facts);
    entry.job.created_s = now_s();
    entry.work = std::move(work);
    job = entry.job;
    entries_.push_back(std::move(entry));
    forget_oldest();
  }
  on_change_(job);
  changed_.notify_all();
  return job;
}

void JobQueue::add_interrupted(JobFacts facts, std::int64_t created_s) {
  const std::scoped_lock lock(guard_);
  Entry entry;
  entry.job.id = next_id_++;
  entry.job.facts = std::move(facts);
  entry.job.state = JobState::interrupted;
  entry.job.created_s = created_s;
  entries_.push_back(std::move(entry));
  forget_oldest();
}

void JobQueue::forget_oldest() {
  const auto has_ended = [](const Entry& entry) { return entry.job.has_ended(); };
  while (static_cast<std::size_t>(std::count_if(entries_.begin(), entries_.end(), has_ended)) >
         kMostEnded)
    entries_.erase(std::find_if(entries_.begin(), entries_.end(), has_ended));
}

std::vector<Job> JobQueue::jobs() const {
  const std::scoped_lock lock(guard_);
  std::vector<Job> out;
  for (auto entry = entries_.rbegin(); entry != entries_.rend(); ++entry) out.push_back(entry->job);
  return out;
}

Job JobQueue::job(int id) const {
  const std::scoped_lock lock(guard_);
  return find_in(entries_, id).job;
}

Job JobQueue::cancel(int id) {
  Job job;
  {
    const std::scoped_lock lock(guard_);
    Entry& asked = find_in(entries_, id);
    asked.cancel.cancel();
    if (!asked.started && !asked.job.has_ended()) end(asked, JobState::cancelled);
    job = asked.job;
  }
  changed_.notify_all();
  on_change_(job);
  return job;
}

void JobQueue::forget(int id) {
  const std::scoped_lock lock(guard_);
  if (!find_in(entries_, id).job.has_ended())
    throw Problem(409, fmt::format("job {} has not ended", id), "cancel it first");
  std::erase_if(entries_, [id](const Entry& entry) { return entry.job.id == id; });
}

Job JobQueue::pause(int id) {
  Job job;
  {
    const std::scoped_lock lock(guard_);
    Entry& asked = find_in(entries_, id);
    if (asked.job.has_ended()) throw Problem(409, fmt::format("job {} has ended", id));
    asked.paused = true;
    asked.job.state = JobState::paused;
    asked.job.left_s.reset();
    job = asked.job;
  }
  on_change_(job);
  return job;
}

Job JobQueue::resume(int id) {
  Job job;
  {
    const std::scoped_lock lock(guard_);
    Entry& asked = find_in(entries_, id);
    if (!asked.paused || asked.job.has_ended())
      throw Problem(409, fmt::format("job {} is not paused", id));
    asked.paused = false;
    asked.job.state = asked.started ? JobState::running : JobState::waiting;
    job = asked.job;
  }
  changed_.notify_all();
  on_change_(job);
  return job;
}

JobQueue::Entry* JobQueue::next_waiting() {
  for (Entry& entry : entries_) {
    if (entry.job.state == JobState::waiting) return &entry;
  }
  return nullptr;
}

void JobQueue::work() {
  std::unique_lock lock(guard_);
  while (true) {
    Entry* next = nullptr;
    changed_.wait(lock, [&] { return ended_ || (next = next_waiting()) != nullptr; });
    if (ended_) return;
    next->started = true;
    next->job.state = JobState::running;
    next->job.started_s = now_s();
    next->begun = Clock::now();
    next->share = run::RunShare(next->work.stages);
    const Job begun = next->job;
    lock.unlock();
    on_change_(begun);
    run(*next);
    lock.lock();
  }
}

// An entry that has started is not removed before it has ended.
void JobQueue::run(Entry& entry) {
  const auto show_stage = [this, &entry](std::string_view stage, std::int64_t done,
                                         std::int64_t total) { show(entry, stage, done, total); };
  JobState state = JobState::done;
  JobOutcome outcome;
  std::optional<Problem> problem;
  try {
    const CancelScope scope(&entry.cancel);
    outcome = entry.work.run({Progress(show_stage, entry.cancel), resources_});
  } catch (const Interrupted&) {
    state = JobState::cancelled;
  } catch (...) {
    state = JobState::failed;
    problem = problem_of(std::current_exception());
  }
  entry.work = {};
  // glibc keeps what was freed: 210 of 270 MB after a stack of 7,000 frames.
  ::malloc_trim(0);
  Job job;
  {
    const std::scoped_lock lock(guard_);
    entry.job.written = std::move(outcome.written);
    entry.job.warnings = std::move(outcome.warnings);
    entry.job.problem = std::move(problem);
    if (state == JobState::done) entry.job.share = 1;
    end(entry, state);
    job = entry.job;
    forget_oldest();
  }
  on_change_(job);
}

void JobQueue::end(Entry& entry, JobState state) {
  entry.job.state = state;
  entry.job.left_s.reset();
  entry.job.ended_s = now_s();
}

// Called by the run between its steps: here a paused job waits.
void JobQueue::show(Entry& entry, std::string_view stage, std::int64_t done, std::int64_t total) {
  Job job;
  {
    std::unique_lock lock(guard_);
    if (entry.paused) {
      const auto since = Clock::now();
      changed_.wait(lock, [&] { return !entry.paused || entry.cancel.cancelled(); });
      entry.stood += Clock::now() - since;
    }
    if (entry.cancel.cancelled()) throw Interrupted();
    entry.share.advance(stage, done, total);
    const bool is_new = entry.job.stage != stage;
    entry.job.stage = stage;
    entry.job.done = done;
    entry.job.total = total;
    entry.job.share = entry.share.share();
    const std::chrono::duration<double> passed = Clock::now() - entry.begun - entry.stood;
    entry.job.left_s = entry.share.left_s(passed.count());
    if (!is_new && Clock::now() - entry.told < kNewsEvery) return;
    entry.told = Clock::now();
    job = entry.job;
  }
  on_change_(job);
}

}  // namespace lull::desk
