#pragma once

#include <memory>

#include "calibrate/defects.h"
#include "calibrate/sensor_sum.h"
#include "capture/capture.h"

namespace lull::calibrate {

/// Finds hot and cold pixels in a capture that has no dark, from the mean of frames spread over it:
/// the object wanders and the air blurs, so what stands out of all its same-colour neighbours
/// there, by more than twice their own spread and 6 standard deviations of the mean's finest
/// detail, is the sensor's. The spread spares a star that hardly moved: an optical image falls off
/// over more than one pixel. On a mosaic, where neighbours of one colour are 2 pixels apart, it
/// must also stand out 4 times as much as the pixels of other colours beside it. Bounds are common
/// practice, no source. One mask a plane; none for fewer than 12 frames.
[[nodiscard]] std::vector<DefectMask> find_defects(const capture::CaptureInfo& info, SensorSum sum);

/// The same capture with its own hot and cold pixels replaced by the median of the nearest good
/// pixels of their colour; itself where there are none.
/// Where the mosaic is doubted, good pixels stand out too: nothing is looked for, and a note says
/// so. @param sum  of `source`.
[[nodiscard]] std::unique_ptr<capture::Capture> repaired(std::unique_ptr<capture::Capture> source,
                                                         SensorSum sum);

}  // namespace lull::calibrate
