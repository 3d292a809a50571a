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
  for (std::size_t spent = 0; spent < length; ++spent) {
    Outcome<capture::Frame> frame = store.next();
    if (frame.ok()) {
      const std::size_t bytes = std::max<std::size_t>(frame.value().bytes(), 1);
      length = std::clamp(kBlockBytes / bytes, kFewestBlockFrames, kMostBlockFrames);
      block.frames.push_back(std::move(frame).value());
    } else if (frame.reason() == Reject::past_the_end) {
      block.last = true;
      break;
    } else {
      block.damaged.push_back(store.tally().frames - 1);
    }
  }
  return block;
}

}  // namespace lull::survey
