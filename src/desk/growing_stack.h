#pragma once

#include <chrono>
#include <memory>
#include <mutex>
#include <optional>

#include "files/picture.h"
#include "stack/stack_watcher.h"

namespace lull::desk {

/// The stack of the job that runs, for whoever looks: a picture is made only when one was asked
/// for, and once a second at most. Any thread.
class GrowingStack : public stack::StackWatcher {
 public:
  struct Picture {
    files::Picture picture;
    std::size_t frames = 0;
  };

  /// A job begins or has ended.
  void clear();

  /// The newest, and asks for the next; null where there is none yet.
  [[nodiscard]] std::shared_ptr<const Picture> look();

  [[nodiscard]] bool wants_picture() override;
  void see(std::vector<Plane> channels, std::size_t frames) override;

 private:
  using Clock = std::chrono::steady_clock;

  std::mutex guard_;
  std::shared_ptr<const Picture> newest_;
  bool wanted_ = false;
  std::optional<Clock::time_point> made_;
};

}  // namespace lull::desk
