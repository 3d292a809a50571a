#pragma once

#include <memory>
#include <string>

#include "calibrate/calibration.h"
#include "capture/capture.h"

namespace lull::calibrate {

/// The same capture with calibrated frames; order, indices, damage and times are the source's.
/// @param source       the capture whose info() the calibration was made for.
/// @param calibration  see Calibration::info() for the format of its frames.
[[nodiscard]] std::unique_ptr<capture::Capture> calibrated(std::unique_ptr<capture::Capture> source,
                                                           Calibration calibration);

/// Sees to it that the dark is one: of the first frames (at most 5), one must not be mostly darker
/// than black by more than 5% of full scale, else dark and capture are exchanged or differ in
/// offset. The bound is common practice, no source. Rewinds the capture.
/// @param calibrated  a capture of calibrated(). @throws InputError naming both files.
void check_dark_is_darker(capture::Capture& calibrated, const std::string& dark_path);

}  // namespace lull::calibrate
