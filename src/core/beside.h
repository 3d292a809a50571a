#pragma once

#include <future>
#include <type_traits>

#include "core/cancel.h"

namespace lull {

/// Runs a task beside the caller: in a thread of its own or, where the system refuses another, when
/// its result is asked for. It belongs to the caller's run (CancelScope). The end of the future's
/// life waits for it, so what the task refers to must live longer.
template <class Task>
[[nodiscard]] std::future<std::invoke_result_t<const Task&>> run_beside(const Task& task) {
  // A copy is handed over: std::async moves what it may move into the thread that it then cannot
  // have, and would run an empty task.
  const auto scoped = [task, token = cancel_in_scope()] {
    const CancelScope scope(token);
    return task();
  };
  return std::async(std::launch::async | std::launch::deferred, scoped);
}

}  // namespace lull
