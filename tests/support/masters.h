#pragma once

#include <cstdint>

#include "calibrate/calibration.h"
#include "support/frames.h"

namespace lull::test {

/// A master of exactly these samples, as if averaged from that many frames.
[[nodiscard]] calibrate::Master master_of(const capture::CaptureInfo& info, const Samples& samples,
                                          std::int64_t frames = 100);

/// The calibrated samples of one frame, planes one after the other.
[[nodiscard]] Samples calibrate_one(const calibrate::Calibration& calibration,
                                    const capture::CaptureInfo& info, const Samples& samples);

}  // namespace lull::test
