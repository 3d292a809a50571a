#pragma once

#include <cstddef>
#include <vector>

#include "core/plane.h"

namespace lull::stack {

/// Is shown a stack as it grows, best frames first. Called from one thread, between frames.
class StackWatcher {
 public:
  StackWatcher() = default;
  StackWatcher(const StackWatcher&) = delete;
  StackWatcher& operator=(const StackWatcher&) = delete;
  virtual ~StackWatcher() = default;

  /// Whether a picture is wanted now: to make one takes a moment.
  [[nodiscard]] virtual bool wants_picture() = 0;

  /// @param channels  linear light on the grid of the reference frame, 1 or 3; 0 where no frame
  /// reaches. @param frames  in it.
  virtual void see(std::vector<Plane> channels, std::size_t frames) = 0;
};

}  // namespace lull::stack
