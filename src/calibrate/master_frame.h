#pragma once

#include <cstdint>
#include <vector>

#include "capture/capture_info.h"
#include "core/plane.h"

namespace lull::calibrate {

enum class MasterKind { dark, flat, flat_dark };

[[nodiscard]] const char* kind_name(MasterKind kind);

/// The mean of the frames of a dark, a flat or a flat dark.
struct Master {
  std::vector<Plane> planes;     ///< in the stored units of `source`, not light; 1 or 3 of them
  capture::CaptureInfo source;   ///< size, colour, layout and depth of what was averaged
  unsigned used_bits = 0;        ///< OR of the smallest and the largest sample of every pixel
  std::int64_t frames = 0;       ///< averaged
  std::int64_t damaged = 0;      ///< left out because they could not be decoded
  bool dark_subtracted = false;  ///< a flat that is the light alone; its black is 0
};

}  // namespace lull::calibrate
