#pragma once

#include <cstdint>
#include <functional>
#include <string_view>
#include <utility>

#include "core/cancel.h"
#include "core/error.h"

namespace lull {

/// How a stage reports how far it is, and learns that its run was cancelled. The library never
/// prints; the caller of the run shows the progress.
class Progress {
 public:
  /// stage: what is being done; done of total units; total 0 when it is not known.
  using Show = std::function<void(std::string_view stage, std::int64_t done, std::int64_t total)>;

  Progress() = default;

  explicit Progress(Show show, CancelToken cancel = {})
      : show_(std::move(show)), cancel_(std::move(cancel)) {}

  /// Call from one thread, between units of work. @throws Interrupted when the run was cancelled.
  void step(std::string_view stage, std::int64_t done, std::int64_t total) const {
    if (cancel_.cancelled()) throw Interrupted();
    if (show_) show_(stage, done, total);
  }

  /// For work within another stage: shows nothing, and is cancelled as well.
  [[nodiscard]] Progress silent() const { return Progress({}, cancel_); }

 private:
  Show show_;
  CancelToken cancel_;
};

}  // namespace lull
