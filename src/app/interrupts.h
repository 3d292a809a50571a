#pragma once

#include <atomic>
#include <csignal>
#include <thread>

namespace lull::app {

/// Ctrl-C, a request to end (SIGTERM) and a closed terminal (SIGHUP). The first of them asks the
/// run to stop at its next step; the second ends the program at once with status 130, after
/// removing unfinished files. Those that the caller ignores (nohup) stay ignored.
/// To be made before other threads, which inherit its blocked signals. One object at a time.
class Interrupts {
 public:
  /// @throws std::system_error when the system has no thread left.
  Interrupts();
  ~Interrupts();
  Interrupts(const Interrupts&) = delete;
  Interrupts& operator=(const Interrupts&) = delete;

  /// For Progress: true once a stop was asked for.
  [[nodiscard]] const std::atomic<bool>& stop_wanted() const { return stop_wanted_; }

 private:
  void watch();

  std::atomic<bool> stop_wanted_{false};
  std::atomic<bool> over_{false};
  sigset_t signals_{};
  sigset_t earlier_{};
  std::thread watcher_;
};

}  // namespace lull::app
