#pragma once

#include <array>
#include <vector>

#include "capture/capture.h"
#include "core/progress.h"

namespace lull::calibrate {

/// Frames spread over a capture (at most 48), added up: the earlier and the later half of them. The
/// object wanders and the air blurs, so what is sharp there is the sensor's.
struct SensorSum {
  std::array<std::vector<Plane>, 2> halves;  ///< sums in stored units, exact; 1 or 3 planes each
  std::array<std::int64_t, 2> frames{};      ///< in each half

  [[nodiscard]] std::int64_t all_frames() const { return frames[0] + frames[1]; }

  /// Mean of all frames; the sums are used up. At least one frame.
  [[nodiscard]] std::vector<Plane> mean() &&;
};

/// Reads from `capture`, then rewinds it. Where reading by index is not cheap, the first frames
/// are taken. Memory: 8 bytes a sample of one frame.
[[nodiscard]] SensorSum sensor_sum(capture::Capture& capture, const Progress& progress);

}  // namespace lull::calibrate
