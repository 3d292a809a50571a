#include "core/parallel.h"

#include <algorithm>
#include <atomic>
#include <functional>
#include <thread>

#include "core/cancel.h"

#ifdef LULL_JTHREAD
#include <exception>
#include <mutex>
#include <vector>
#else
#include <oneapi/tbb/global_control.h>
#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/task_arena.h>

#include <memory>
#include <mutex>
#include <stdexcept>
#include <string_view>
#include <system_error>
#include <utility>
#include <vector>
#endif

namespace lull {

namespace {

std::atomic<int> chosen_threads{0};

// The body in the caller's scope, whichever thread it runs in.
std::function<void(std::int64_t)> stoppable(const std::function<void(std::int64_t)>& body) {
  return [&body, token = cancel_in_scope()](std::int64_t i) {
    const CancelScope scope(token);
    stop_if_cancelled();
    body(i);
  };
}

}  // namespace

void set_thread_count(int threads) { chosen_threads = std::max(threads, 0); }

int thread_count() {
  const int chosen = chosen_threads;
  return chosen > 0 ? chosen : static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
}

#ifdef LULL_JTHREAD

// ThreadSanitizer knows std::jthread; the distribution's TBB is not instrumented and would show
// races where there are none.
void parallel_for(std::int64_t count, const std::function<void(std::int64_t)>& given) {
  const auto body = stoppable(given);
  std::atomic<std::int64_t> next{0};
  std::exception_ptr first;
  std::mutex guard;
  const auto work = [&] {
    for (std::int64_t i = next++; i < count; i = next++) {
      try {
        body(i);
      } catch (...) {
        const std::scoped_lock lock(guard);
        if (!first) first = std::current_exception();
        next = count;
      }
    }
  };
  {
    std::vector<std::jthread> threads;
    for (int t = 1; t < thread_count(); ++t) threads.emplace_back(work);
    work();
  }
  if (first) std::rethrow_exception(first);
}

#else

namespace {

using Arena = std::unique_ptr<oneapi::tbb::task_arena>;

// Arenas that no loop uses. One is for each loop that runs at a time, since threads that wait in a
// loop must not begin another one's work. An arena of its own for each loop would cost 7 KiB that
// TBB does not free: 100 MiB where 200,000 frames take 40,000 loops.
class IdleArenas {
 public:
  [[nodiscard]] Arena take(int threads) {
    const std::scoped_lock lock(guard_);
    while (!idle_.empty()) {
      Arena arena = std::move(idle_.back());
      idle_.pop_back();
      if (arena->max_concurrency() == threads) return arena;
    }
    return std::make_unique<oneapi::tbb::task_arena>(threads);
  }

  void put_back(Arena arena) {
    const std::scoped_lock lock(guard_);
    idle_.push_back(std::move(arena));
  }

 private:
  std::mutex guard_;
  std::vector<Arena> idle_;
};

// Never destroyed, as a thread may still leave a loop when the program ends.
IdleArenas& idle_arenas() {
  static auto* const arenas = new IdleArenas;
  return *arenas;
}

}  // namespace

void parallel_for(std::int64_t count, const std::function<void(std::int64_t)>& given) {
  if (count <= 0) return;
  const auto body = stoppable(given);
  if (thread_count() == 1 || count == 1) {
    for (std::int64_t i = 0; i < count; ++i) body(i);
    return;
  }
  // Without this TBB refuses more threads than the machine has, with a warning on the terminal.
  const oneapi::tbb::global_control limit(oneapi::tbb::global_control::max_allowed_parallelism,
                                          static_cast<std::size_t>(thread_count()));
  Arena arena = idle_arenas().take(thread_count());
  try {
    arena->execute([&] { oneapi::tbb::parallel_for(std::int64_t{0}, count, body); });
    idle_arenas().put_back(std::move(arena));
  } catch (const std::runtime_error& error) {
    // TBB has no type of its own for this. Some of the work may be done, so it is not repeated.
    if (!std::string_view(error.what()).starts_with("pthread_create has failed")) throw;
    throw std::system_error(std::make_error_code(std::errc::resource_unavailable_try_again));
  }
}

#endif

}  // namespace lull
