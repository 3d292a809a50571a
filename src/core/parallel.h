#pragma once

#include <cstdint>
#include <functional>

namespace lull {

/// Worker threads that loops use from now on; 0 = as many as the machine has. Process-wide.
void set_thread_count(int threads);

[[nodiscard]] int thread_count();

/// Calls body(i) once for each i in [0, count), on up to thread_count() threads, in any order. Each
/// body must write to its own memory. The caller sums in index order, so that results do not depend
/// on the number of threads. The first exception reaches the caller after the running bodies have
/// ended. Bodies run in the caller's CancelScope. @throws Interrupted when its run is cancelled,
/// std::system_error (resource_unavailable_try_again): the system refuses a thread.
void parallel_for(std::int64_t count, const std::function<void(std::int64_t)>& body);

}  // namespace lull
