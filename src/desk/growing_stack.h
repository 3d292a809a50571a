#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <utility>

#include "files/picture.h"
#include "stack/stack_watcher.h"

namespace lull::desk {

/// The stack of the job that runs, for whoever looks: a picture is made only when one was asked
/// for or a page listens, and every two seconds at most. Any thread.
class GrowingStack : public stack::StackWatcher {
 public:
  struct Picture {
    files::Picture picture;
    std::size_t frames = 0;
  };

  /// @param is_watched  whether a page listens; may be empty.
  explicit GrowingStack(std::function<bool()> is_watched = {})
      : is_watched_(std::move(is_watched)) {}

  /// A job begins or has ended.
  void clear();

  /// Frames in the newest picture; 0 = there is none yet.
  [[nodiscard]] std::size_t frames() const;

  /// The newest, and asks for the next; null where there is none yet.
  [[nodiscard]] std::shared_ptr<const Picture> look();

  [[nodiscard]] bool wants_picture() override;
  void see(std::vector<Plane> channels, std::size_t frames) override;

 private:
  using Clock = std::chrono::steady_clock;

  std::function<bool()> is_watched_;
  mutable std::mutex guard_;
  std::shared_ptr<const Picture> newest_;
  bool wanted_ = false;
  std::optional<Clock::time_point> made_;
};

}  // namespace lull::desk
