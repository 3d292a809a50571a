#pragma once

#include <memory>

#include "calibrate/defects.h"
#include "calibrate/sensor_sum.h"
#include "capture/capture.h"

namespace lull::calibrate {

/// Finds hot and cold pixels in a capture that has no dark, from the mean of frames spread over it.
/// The object moves and the air blurs. So a pixel is the sensor's if it differs from all its
/// same-colour neighbours in this mean by more than twice their own spread and 6 standard
/// deviations of the mean's finest detail. The spread protects a star that hardly moved: an optical
/// image falls off over more than one pixel. On a mosaic, where neighbours of one colour are 2
/// pixels apart, it must also differ 4 times as much as the pixels of other colours beside it.
/// Bounds are common practice, no source. One mask a plane; none for fewer than 12 frames.
[[nodiscard]] std::vector<DefectMask> find_defects(const capture::CaptureInfo& info, SensorSum sum);

/// The same capture with its own hot and cold pixels replaced by the median of the nearest good
/// pixels of their colour; itself where there are none. Where the mosaic is doubtful, good pixels
/// differ too: no search is made, and a note reports it. @param sum of `source`.
[[nodiscard]] std::unique_ptr<capture::Capture> repaired(std::unique_ptr<capture::Capture> source,
                                                         SensorSum sum);

}  // namespace lull::calibrate
