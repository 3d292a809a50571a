#include "survey/frame_block.h"

#include <algorithm>
#include <utility>

namespace lull::survey {

namespace {

constexpr std::size_t kMostBlockFrames = 32;
constexpr std::size_t kFewestBlockFrames = 4;
constexpr std::size_t kBlockBytes = std::size_t{128} << 20U;  // once more for those being read

}  // namespace

FrameBlock read_block(capture::FrameStore& store) {
  FrameBlock block;
  std::size_t length = kMostBlockFrames;
  for (std::size_t spent = 0; spent < length && !block.last;) {
    // How long a block is, the first frame tells.
    const bool length_known = !block.frames.empty();
    auto frames = store.next_frames(length_known ? length - spent : 1);
    block.last = frames.empty();
    spent += frames.size();
    for (auto& next : frames) {
      if (!next.frame.ok()) {
        block.damaged.push_back(next.index);
        continue;
      }
      const std::size_t bytes = std::max<std::size_t>(next.frame.value().bytes(), 1);
      if (!length_known)
        length = std::clamp(kBlockBytes / bytes, kFewestBlockFrames, kMostBlockFrames);
      block.frames.push_back(std::move(next.frame).value());
    }
  }
  return block;
}

}  // namespace lull::survey
