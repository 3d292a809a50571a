#pragma once

#include <vector>

#include "capture/frame_store.h"

namespace lull::survey {

/// Frames that are surveyed together. Their number depends on their size alone: a tracker begins
/// with the mean of the first block, so the result may not depend on --memory.
struct FrameBlock {
  std::vector<capture::Frame> frames;
  std::vector<FrameIndex> damaged;
  bool last = false;
};

/// The next 4 to 32 frames, damaged ones among them: 128 MiB where that is between. Fewer only at
/// the end. Moves the store's position.
[[nodiscard]] FrameBlock read_block(capture::FrameStore& store);

}  // namespace lull::survey
