#include "core/beside.h"

#include <doctest/doctest.h>

#include <atomic>
#include <chrono>
#include <stdexcept>
#include <thread>
#include <vector>

#include "core/error.h"

using namespace lull;

TEST_SUITE("core/beside") {
  TEST_CASE("the result arrives, and what was thrown does") {
    const std::vector<int> values = {3, 4, 5};
    CHECK(run_beside([values] { return values; }).get() == values);
    auto fails = run_beside([]() -> int { throw std::runtime_error("no disk"); });
    CHECK_THROWS_WITH(fails.get(), "no disk");
  }

  TEST_CASE("a task belongs to the run of its caller") {
    const CancelToken token;
    token.cancel();
    const auto task = [] { stop_if_cancelled(); };
    run_beside(task).get();
    const CancelScope scope(&token);
    auto cancelled = run_beside(task);
    CHECK_THROWS_AS(cancelled.get(), Interrupted);
  }

  TEST_CASE("the end of the future waits for the task") {
    std::atomic<bool> done = false;
    {
      const auto future = run_beside([&done] {
        std::this_thread::sleep_for(std::chrono::milliseconds(20));
        done = true;
      });
    }
    CHECK(done);
  }
}
