#pragma once

#include <memory>

#include "calibrate/defects.h"
#include "capture/capture.h"
#include "core/progress.h"

namespace lull::calibrate {

/// Finds hot and cold pixels in a capture that has no dark, from the mean of frames spread over it
/// (at most 48): the object wanders and the air blurs, so what stands out of all its same-colour
/// neighbours there, by more than twice their own spread and 6 standard deviations of the mean's
/// finest detail, is the sensor's. The spread spares a star that hardly moved: an optical image
/// falls off over more than one pixel. On a mosaic, where neighbours of one colour are 2 pixels
/// apart, it must also stand out 4 times as much as the pixels of other colours beside it. Bounds
/// are common practice, no source. One mask a plane; reads from `capture`, then rewinds it. Nothing
/// is marked in captures of fewer than 12 frames.
[[nodiscard]] std::vector<DefectMask> find_defects(capture::Capture& capture,
                                                   const Progress& progress);

/// The same capture with its own hot and cold pixels replaced by the median of the nearest good
/// pixels of their colour; itself where there are none.
[[nodiscard]] std::unique_ptr<capture::Capture> mended(std::unique_ptr<capture::Capture> source,
                                                       const Progress& progress);

}  // namespace lull::calibrate
