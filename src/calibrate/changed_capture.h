#pragma once

#include <cstddef>
#include <cstdint>
#include <iterator>
#include <memory>
#include <utility>
#include <vector>

#include "capture/capture.h"
#include "core/parallel.h"

namespace lull::calibrate {

/// A capture whose frames are those of another, each changed on its own. Indices, order and damaged
/// frames stay as they are.
class ChangedCapture : public capture::Capture {
 public:
  [[nodiscard]] const capture::CaptureInfo& info() const final { return info_; }

  [[nodiscard]] Outcome<capture::Frame> next() final { return apply(source_->next()); }

  [[nodiscard]] std::vector<NextFrame> next_frames(std::size_t most) final {
    std::vector<NextFrame> block = source_->next_frames(most);
    parallel_for(std::ssize(block), [&](std::int64_t i) {
      Outcome<capture::Frame>& frame = block[static_cast<std::size_t>(i)].frame;
      frame = apply(std::move(frame));
    });
    return block;
  }

  void rewind() final { source_->rewind(); }

  [[nodiscard]] Outcome<capture::Frame> at(FrameIndex index) final {
    return apply(source_->at(index));
  }

  [[nodiscard]] Tally tally() const final { return source_->tally(); }

 protected:
  /// @param info  of the changed frames.
  ChangedCapture(std::unique_ptr<capture::Capture> source, capture::CaptureInfo info)
      : source_(std::move(source)), info_(std::move(info)) {}

  [[nodiscard]] virtual capture::Frame changed(capture::Frame frame) const = 0;

 private:
  [[nodiscard]] Outcome<capture::Frame> apply(Outcome<capture::Frame> frame) const {
    if (!frame.ok()) return frame;
    return changed(std::move(frame).value());
  }

  std::unique_ptr<capture::Capture> source_;
  capture::CaptureInfo info_;
};

}  // namespace lull::calibrate
