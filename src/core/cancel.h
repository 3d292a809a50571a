#pragma once

#include <atomic>
#include <memory>

namespace lull {

/// Asks one run to stop. Copies share their state: any copy can cancel the run, which checks its
/// own. Any thread.
class CancelToken {
 public:
  void cancel() const { cancelled_->store(true); }

  [[nodiscard]] bool cancelled() const { return cancelled_->load(std::memory_order_relaxed); }

 private:
  std::shared_ptr<std::atomic<bool>> cancelled_ = std::make_shared<std::atomic<bool>>(false);
};

/// While it lives, the work of this thread belongs to the run of this token: stop_if_cancelled(),
/// and with it every parallel_for(), looks at it. So long loops need not be handed a token. The
/// earlier one counts again afterwards. The token must outlive it.
class CancelScope {
 public:
  /// @param token  null: none, as at the beginning of a thread.
  explicit CancelScope(const CancelToken* token);
  ~CancelScope();
  CancelScope(const CancelScope&) = delete;
  CancelScope& operator=(const CancelScope&) = delete;

 private:
  const CancelToken* earlier_;
};

/// The token of this thread's scope, to be handed to a thread that helps; null: none.
[[nodiscard]] const CancelToken* cancel_in_scope();

/// Cheap enough for every row of a picture. @throws Interrupted if the run in scope was cancelled.
void stop_if_cancelled();

}  // namespace lull
