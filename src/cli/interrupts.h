#pragma once

#include <atomic>
#include <csignal>
#include <thread>

#include "core/cancel.h"

namespace lull::cli {

/// Ctrl-C, a request to end (SIGTERM) and a closed terminal (SIGHUP). The first of them asks the
/// run to stop at its next step; the second ends the program at once with status 130, after
/// removing unfinished files. Those that the caller ignores (nohup) stay ignored.
/// To be made before other threads, which inherit its blocked signals. One object at a time.
class Interrupts {
 public:
  /// Where the system refuses a thread, signals end the program at once.
  Interrupts();
  ~Interrupts();
  Interrupts(const Interrupts&) = delete;
  Interrupts& operator=(const Interrupts&) = delete;

  /// Cancelled once a stop was asked for.
  [[nodiscard]] const CancelToken& cancel_token() const { return cancel_; }

 private:
  void watch();

  CancelToken cancel_;
  std::atomic<bool> over_{false};
  sigset_t signals_{};
  sigset_t earlier_{};
  std::thread watcher_;
};

}  // namespace lull::cli
