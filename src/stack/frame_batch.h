#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <numeric>
#include <span>
#include <string>
#include <vector>

#include "capture/frame_store.h"
#include "core/progress.h"
#include "stack/batch_steps.h"

namespace lull::stack {

/// Some frames at a time, as many as memory allows. A load begins the steps that a stage takes:
///     LoadedFrames -> RegisteredFrames -> WeightedFrames
class FrameBatch {
 public:
  /// All outlive this. @param memory_bytes  for the frames at work.
  FrameBatch(capture::FrameStore& store, const survey::Survey& survey, const Candidates& candidates,
             std::size_t memory_bytes);

  /// More memory makes batches no larger.
  [[nodiscard]] static std::size_t most_bytes(const capture::CaptureInfo& info);

  [[nodiscard]] const std::string& path() const { return store_.info().path; }

  [[nodiscard]] std::size_t most() const { return frames_.size(); }

  /// The frames at these positions, by rising position; those that cannot be read again are left
  /// out. Valid until the next load.
  [[nodiscard]] LoadedFrames load(std::vector<std::size_t> positions);

  /// The same for positions [first, first + count).
  [[nodiscard]] LoadedFrames load(std::size_t first, std::size_t count);

  /// Loads the frames at these positions, batch by batch, and calls body(LoadedFrames) with each.
  template <class Body>
  void load_each(const std::vector<std::size_t>& positions, const char* stage,
                 const Progress& progress, const Body& body) {
    const auto total = static_cast<std::int64_t>(positions.size());
    for (std::size_t first = 0; first < positions.size(); first += most()) {
      progress.step(stage, static_cast<std::int64_t>(first), total);
      const auto from = positions.begin() + static_cast<std::ptrdiff_t>(first);
      const std::size_t count = std::min(most(), positions.size() - first);
      body(load({from, from + static_cast<std::ptrdiff_t>(count)}));
    }
    progress.step(stage, total, total);
  }

  /// The same for the first `count` positions.
  template <class Body>
  void load_each(std::size_t count, const char* stage, const Progress& progress, const Body& body) {
    std::vector<std::size_t> positions(count);
    std::iota(positions.begin(), positions.end(), std::size_t{0});
    load_each(positions, stage, progress, body);
  }

 private:
  capture::FrameStore& store_;
  BatchContext context_;
  std::vector<FrameAtWork> frames_;
};

}  // namespace lull::stack
