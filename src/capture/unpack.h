#pragma once

#include <memory>

#include "capture/frame.h"
#include "capture/libav.h"
#include "capture/pixel_layout.h"

namespace lull::capture {

/// Planes of samples of a decoded picture. Samples that can be used in place are not copied: the
/// frame then holds a reference to libav's memory, also beyond the capture's life. index and time_s
/// are left to the caller.
/// @param quarters  clockwise quarter turns that set it upright.
[[nodiscard]] Frame unpack(AvFrame picture, const PixelLayout& layout, int quarters);

}  // namespace lull::capture
