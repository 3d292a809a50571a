#pragma once

#include <memory>

#include "calibrate/calibration.h"
#include "capture/capture.h"

namespace lull::calibrate {

/// The same capture with calibrated frames; order, indices, damage and times are the source's.
/// @param source       the capture whose info() the calibration was made for.
/// @param calibration  see Calibration::info() for what its frames are like.
[[nodiscard]] std::unique_ptr<capture::Capture> calibrated(std::unique_ptr<capture::Capture> source,
                                                           Calibration calibration);

}  // namespace lull::calibrate
