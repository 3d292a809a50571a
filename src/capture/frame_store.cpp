#include "capture/frame_store.h"

#include <utility>

namespace lull::capture {

FrameStore::FrameStore(std::unique_ptr<Capture> source, std::size_t budget_bytes)
    : source_(std::move(source)), budget_bytes_(budget_bytes) {}

Outcome<Frame> FrameStore::next() {
  Outcome<Frame> frame = source_->next();
  if (!frame.ok()) return frame;
  const std::size_t bytes = frame.value().bytes();
  if (used_bytes_ + bytes <= budget_bytes_ &&
      cache_.emplace(frame.value().index, frame.value()).second) {
    used_bytes_ += bytes;
  }
  return frame;
}

Outcome<Frame> FrameStore::at(FrameIndex index) {
  if (const auto cached = cache_.find(index); cached != cache_.end()) return cached->second;
  return source_->at(index);
}

}  // namespace lull::capture
