#pragma once

#include <cstdint>
#include <vector>

#include "capture/capture.h"
#include "capture/frame.h"
#include "core/samples.h"

namespace lull::quality {

/// One plane of light from a frame, for ranking and registration.
struct Luminance {
  SampleView view;
  SampleScale scale;
  double full_scale = 255;  ///< stored value at which a sample counts as saturated
};

/// Memory that a luminance may point into; one a thread.
using LuminanceBuffer = std::vector<std::uint16_t>;

/// mono, yuv and luma: the plane itself. rgb: (R + 2G + B) / 4. cfa: the mosaic smoothed by
/// [1 2 1] x [1 2 1] / 16, which is zero at the three frequencies on which a Bayer mosaic carries
/// colour, so it needs no demosaic. The view points into the frame or the buffer and lives as
/// long as both.
[[nodiscard]] Luminance luminance(const capture::Frame& frame, const capture::CaptureInfo& info,
                                  LuminanceBuffer& buffer);

}  // namespace lull::quality
