#include "capture/frame_store.h"

#include <utility>

namespace lull::capture {

std::size_t FrameStore::cached_bytes(const Frame& frame) { return frame.bytes() + kBesideSamples; }

FrameStore::FrameStore(std::unique_ptr<Capture> source, std::size_t budget_bytes)
    : source_(std::move(source)), budget_bytes_(budget_bytes) {}

std::vector<Capture::NextFrame> FrameStore::next_frames(std::size_t most) {
  std::vector<Capture::NextFrame> block = source_->next_frames(most);
  for (const Capture::NextFrame& next : block) {
    if (next.frame.ok()) keep(next.frame.value());
  }
  return block;
}

Outcome<Frame> FrameStore::at(FrameIndex index) {
  if (const auto cached = cache_.find(index); cached != cache_.end()) return cached->second;
  Outcome<Frame> frame = source_->at(index);
  if (frame.ok() && preferred_.contains(index) && cached_bytes(frame.value()) <= budget_bytes_) {
    make_room(cached_bytes(frame.value()));
    keep(frame.value());
  }
  return frame;
}

void FrameStore::keep(const Frame& frame) {
  const std::size_t bytes = cached_bytes(frame);
  if (used_bytes_ + bytes > budget_bytes_) return;
  if (cache_.emplace(frame.index, frame).second) used_bytes_ += bytes;
}

// Drops the last frames of the capture that are not preferred.
void FrameStore::make_room(std::size_t bytes) {
  for (auto entry = cache_.end(); entry != cache_.begin() && used_bytes_ + bytes > budget_bytes_;) {
    --entry;
    if (preferred_.contains(entry->first)) continue;
    used_bytes_ -= cached_bytes(entry->second);
    entry = cache_.erase(entry);
  }
}

}  // namespace lull::capture
