// Covers: core/cancel
#include "core/parallel.h"

#include <doctest/doctest.h>
#include <unistd.h>

#include <atomic>
#include <fstream>
#include <stdexcept>
#include <vector>

#include "core/cancel.h"
#include "core/error.h"
#include "support/run_program.h"

namespace {

/// KiB that this process holds: proc(5), statm.
long resident_kib() {
  long all = 0;
  long resident = 0;
  std::ifstream("/proc/self/statm") >> all >> resident;
  return resident * (sysconf(_SC_PAGESIZE) / 1024);
}

}  // namespace

TEST_SUITE("core/parallel") {
  TEST_CASE("every index once, on any number of threads") {
    for (const int threads : {1, 2, 7, 0}) {
      lull::set_thread_count(threads);
      std::vector<int> calls(1001);
      lull::parallel_for(1001, [&](std::int64_t i) { ++calls[static_cast<std::size_t>(i)]; });
      CHECK(calls == std::vector<int>(1001, 1));
      lull::parallel_for(0, [&](std::int64_t) { FAIL("nothing to do"); });
    }
    lull::set_thread_count(0);
  }

  TEST_CASE("a loop ends when its run is cancelled, on any number of threads, and only its own") {
    for (const int threads : {1, 3}) {
      lull::set_thread_count(threads);
      const lull::CancelToken cancel;
      const lull::CancelScope scope(&cancel);
      std::atomic<int> calls = 0;
      const auto body = [&](std::int64_t i) {
        ++calls;
        if (i == 5) cancel.cancel();
      };
      CHECK_THROWS_AS(lull::parallel_for(1'000'000, body), lull::Interrupted);
      CHECK(calls < 500'000);
      CHECK_THROWS_AS(lull::stop_if_cancelled(), lull::Interrupted);
      const lull::CancelToken other;
      {
        const lull::CancelScope inner(&other);
        lull::parallel_for(10, [](std::int64_t) { lull::stop_if_cancelled(); });
        // Loops in a loop belong to the same run, whichever thread they are in.
        std::atomic<int> inner_calls = 0;
        lull::parallel_for(10, [&](std::int64_t) {
          lull::parallel_for(10, [&](std::int64_t) {
            if (lull::cancel_in_scope() == &other) ++inner_calls;
          });
        });
        CHECK(inner_calls == 100);
      }
      CHECK(lull::cancel_in_scope() == &cancel);
    }
    CHECK(lull::cancel_in_scope() == nullptr);
    lull::set_thread_count(0);
  }

  TEST_CASE("an exception reaches the caller, and the next loop works") {
    lull::set_thread_count(3);
    std::atomic<int> running = 0;
    const auto faulty = [&](std::int64_t i) {
      ++running;
      if (i == 40) {
        --running;
        throw std::runtime_error("at 40");
      }
      --running;
    };
    CHECK_THROWS_WITH(lull::parallel_for(100, faulty), "at 40");
    CHECK(running == 0);
    std::atomic<int> calls = 0;
    lull::parallel_for(10, [&](std::int64_t) { ++calls; });
    CHECK(calls == 10);
    lull::set_thread_count(0);
  }

  TEST_CASE("10,000 loops take no more memory than 100") {
    if (!lull::test::kOwnMemory) return;
    lull::set_thread_count(2);
    std::atomic<int> calls = 0;
    const auto loops = [&](int count) {
      for (int i = 0; i < count; ++i) lull::parallel_for(32, [&](std::int64_t) { ++calls; });
    };
    loops(100);
    const long before = resident_kib();
    loops(10'000);
    CHECK(resident_kib() < before + 4096);  // 72,000 with an arena of TBB for each loop
    CHECK(calls == 32 * 10'100);
    lull::set_thread_count(0);
  }
}
