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

}  // namespace lull
