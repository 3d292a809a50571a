#include "core/parallel.h"

#include <doctest/doctest.h>

#include <atomic>
#include <stdexcept>
#include <vector>

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
}
