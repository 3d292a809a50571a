#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>
#include <utility>
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

  /// The frames at these positions, by rising position; those that cannot be read again are left
  /// out. Valid until the next load.
  [[nodiscard]] LoadedFrames load(std::vector<std::size_t> positions);

  /// How progress is shown: so many were done before, of so many in all.
  struct Stage {
    const char* name;
    std::size_t before;
    std::size_t total;
  };

  using Body = std::function<void(LoadedFrames&&)>;

  /// Loads the frames at these positions, batch by batch, and calls the body with each. Meanwhile
  /// the next ones are read, so the body must not load.
  void load_each(const std::vector<std::size_t>& positions, const Stage& stage,
                 const Progress& progress, const Body& body);

  void load_each(const std::vector<std::size_t>& positions, const char* stage,
                 const Progress& progress, const Body& body) {
    load_each(positions, Stage{stage, 0, positions.size()}, progress, body);
  }

  /// The same for the first `count` positions.
  void load_each(std::size_t count, const char* stage, const Progress& progress, const Body& body) {
    load_each(range(0, count), stage, progress, body);
  }

  /// Positions [first, last).
  [[nodiscard]] static std::vector<std::size_t> range(std::size_t first, std::size_t last);

 private:
  using Read = std::vector<std::pair<std::size_t, capture::Frame>>;  ///< with their positions

  [[nodiscard]] Read read(std::vector<std::size_t> positions);
  [[nodiscard]] LoadedFrames take(Read&& read);

  capture::FrameStore& store_;
  BatchContext context_;
  std::vector<FrameAtWork> frames_;
};

}  // namespace lull::stack
