#pragma once

#include <list>
#include <memory>
#include <mutex>
#include <string>

#include "capture/frame_store.h"
#include "desk/catalogue.h"
#include "finish/levels.h"
#include "run/control.h"

namespace lull::desk {

/// A capture that is open for looking at single frames. Any thread.
class OpenedCapture {
 public:
  OpenedCapture(const ListedCapture& capture, const run::Resources& resources);

  [[nodiscard]] const capture::FoundCapture& found() const { return found_; }

  [[nodiscard]] const capture::CaptureInfo& info() const { return frames_->info(); }

  /// As it was recorded. @throws Problem 404: no such frame; 422: it is damaged.
  [[nodiscard]] capture::Frame frame(FrameIndex index);

  /// The sharpest of a few frames over the capture; of one that cannot be read by index cheaply,
  /// of its first frames. @throws Problem 422: none of them can be read.
  [[nodiscard]] FrameIndex good_frame();

  /// Black and white for all frames, as the good one has them.
  [[nodiscard]] const finish::Levels& levels();

 private:
  [[nodiscard]] std::vector<capture::Frame> some_frames();
  [[nodiscard]] capture::Frame frame_unlocked(FrameIndex index);
  void look_at_some();

  capture::FoundCapture found_;
  std::int64_t likely_frames_;
  std::unique_ptr<capture::FrameStore> frames_;
  std::mutex guard_;
  std::optional<FrameIndex> good_;
  finish::Levels levels_;
};

/// The captures that were looked at last stay open. Any thread.
class FrameReader {
 public:
  static constexpr std::size_t kMostOpen = 3;

  explicit FrameReader(run::Resources resources) : resources_(resources) {}

  /// Opens it again where it has changed. @throws what opening it throws.
  [[nodiscard]] std::shared_ptr<OpenedCapture> open(const ListedCapture& capture);

 private:
  run::Resources resources_;
  std::mutex guard_;
  std::list<std::shared_ptr<OpenedCapture>> open_;  ///< the last used first
};

}  // namespace lull::desk
