#pragma once

#include "align/padded_frame.h"

namespace lull::stack {

/// Samples of one channel of a frame: a plane, and which of its pixels hold the channel.
struct ChannelSamples {
  const align::PaddedFrame* plane = nullptr;
  /// The plane at the pixels of the picture, where it was brought there already (WarpedFrames).
  const Plane* warped = nullptr;
  /// Does a pixel hold the channel, by the parity of its row, then of its column? All do, but in a
  /// mosaic.
  bool at_parity[2][2] = {{true, true}, {true, true}};
};

}  // namespace lull::stack
