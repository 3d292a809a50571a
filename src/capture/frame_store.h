#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <set>
#include <utility>
#include <vector>

#include "capture/capture.h"

namespace lull::capture {

/// Frames of a capture, with a bounded cache: what was read once and fits the budget need not be
/// decoded again. One thread.
class FrameStore {
 public:
  /// @param budget_bytes most memory that cached frames may take.
  FrameStore(std::unique_ptr<Capture> source, std::size_t budget_bytes);

  [[nodiscard]] const CaptureInfo& info() const { return source_->info(); }

  [[nodiscard]] Capture::Tally tally() const { return source_->tally(); }

  /// The next frames in order, at most so many, kept while there is room.
  [[nodiscard]] std::vector<Capture::NextFrame> next_frames(std::size_t most);

  /// Frame of that index, from the cache or read again.
  [[nodiscard]] Outcome<Frame> at(FrameIndex index);

  /// Drops every cached frame for which keep(index) is false.
  template <class Keep>
  void retain(const Keep& keep) {
    for (auto entry = cache_.begin(); entry != cache_.end();) {
      if (keep(entry->first)) {
        ++entry;
        continue;
      }
      used_bytes_ -= cached_bytes(entry->second);
      entry = cache_.erase(entry);
    }
  }

  /// What libav and the map hold beside the samples of a frame: 1.2 kB were measured.
  static constexpr std::size_t kBesideSamples = 1500;

  /// What one frame takes of the budget, samples and all beside them.
  [[nodiscard]] static std::size_t cached_bytes(const Frame& frame);

  /// From here on these frames are kept when at() reads them, and others make room for them.
  void prefer(std::set<FrameIndex> frames) { preferred_ = std::move(frames); }

 private:
  void keep(const Frame& frame);
  void make_room(std::size_t bytes);

  std::unique_ptr<Capture> source_;
  std::size_t budget_bytes_;
  std::size_t used_bytes_ = 0;
  std::map<FrameIndex, Frame> cache_;
  std::set<FrameIndex> preferred_;
};

}  // namespace lull::capture
