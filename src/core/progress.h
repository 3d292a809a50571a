#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <string_view>

#include "core/error.h"

namespace lull {

/// How a stage tells how far it is, and learns that the user wants to stop. The library never
/// prints; the application shows this as it likes.
class Progress {
 public:
  /// stage: what is being done; done of total units; total 0 when it is not known.
  using Show = std::function<void(std::string_view stage, std::int64_t done, std::int64_t total)>;

  Progress() = default;

  Progress(Show show, const std::atomic<bool>* stop) : show_(std::move(show)), stop_(stop) {}

  /// Call from one thread, between units of work. @throws Interrupted when a stop was asked for.
  void step(std::string_view stage, std::int64_t done, std::int64_t total) const {
    if (stop_ != nullptr && stop_->load(std::memory_order_relaxed)) throw Interrupted();
    if (show_) show_(stage, done, total);
  }

 private:
  Show show_;
  const std::atomic<bool>* stop_ = nullptr;
};

}  // namespace lull
