#pragma once

#include <atomic>
#include <csignal>
#include <functional>
#include <thread>

#include "core/cancel.h"

namespace lull::cli {

/// Ctrl-C, a request to end (SIGTERM) and a closed terminal (SIGHUP). The first of them asks the
/// run to stop at its next step. Where it has not ended after 0.4 s, or at the second signal, the
/// program ends at once with status 130, after removing unfinished files. Those that the caller
/// ignores (nohup) stay ignored. To be made before other threads, which inherit its blocked
/// signals. One object at a time.
class Interrupts {
 public:
  /// Where the system refuses a thread, signals end the program at once.
  /// @param last_words  called before the program ends at once.
  explicit Interrupts(std::function<void()> last_words = {});
  ~Interrupts();
  Interrupts(const Interrupts&) = delete;
  Interrupts& operator=(const Interrupts&) = delete;

  /// Cancelled once a stop was asked for.
  [[nodiscard]] const CancelToken& cancel_token() const { return cancel_; }

 private:
  void watch();
  [[noreturn]] void leave() const;

  std::function<void()> last_words_;
  CancelToken cancel_;
  std::atomic<bool> over_{false};
  sigset_t signals_{};
  sigset_t earlier_{};
  std::thread watcher_;
};

}  // namespace lull::cli
