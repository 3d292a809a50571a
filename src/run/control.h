#pragma once

#include <cstddef>

#include "core/progress.h"
#include "run/option.h"
#include "stack/stack_watcher.h"

namespace lull::run {

/// What becomes of files that have the names of results.
enum class ExistingFiles {
  keep,  ///< the run is refused
  replace,
};

/// What a run may use of the machine, and replace on it. The bytes of its results do not depend
/// on it.
struct Resources {
  int threads = 0;               ///< 0 = all
  std::size_t memory_bytes = 0;  ///< 0 = as much as makes the run fast: run/memory_need.h
  ExistingFiles existing = ExistingFiles::keep;
};

/// --threads, for every verb.
[[nodiscard]] OptionTable<Resources> thread_options();

/// --memory, for verbs that read a capture.
[[nodiscard]] OptionTable<Resources> memory_options();

/// --overwrite, for verbs that write files.
[[nodiscard]] OptionTable<Resources> overwrite_options();

/// How one run is accompanied: who is shown its progress, who can cancel it, what it may use.
/// A function that takes one prints nothing, and ends within a second of being cancelled with
/// Interrupted, leaving no half-written file.
struct RunControl {
  Progress progress;
  Resources resources;
  stack::StackWatcher* watcher = nullptr;  ///< is shown a stack as it grows; null: nobody
};

}  // namespace lull::run
