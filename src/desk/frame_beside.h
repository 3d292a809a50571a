#pragma once

#include "capture/capture_info.h"
#include "capture/frame.h"
#include "files/picture.h"

namespace lull::desk {

/// A frame where a part of a stack shows it, moved by whole pixels. The air moves regions of a
/// frame on their own, so its detail is registered with that of the part.
/// @param stack  the part, linear light, with as many channels as the light of the frame.
/// @param place  of the part in the frame as the capture was followed as a whole, px; it may lie
/// partly outside, where the result is 0.
/// @throws Problem: the frame does not show the part.
[[nodiscard]] files::Picture frame_beside(const capture::Frame& frame,
                                          const capture::CaptureInfo& info, const Box& place,
                                          const files::Picture& stack);

}  // namespace lull::desk
