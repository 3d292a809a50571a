#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "calibrate/master_frame.h"
#include "capture/capture.h"
#include "core/progress.h"

namespace lull::calibrate {

/// Frames of a calibration capture beyond this many are not read: the sums of 16-bit samples
/// stay exact in 32 bits, and more would not lower the noise that matters.
inline constexpr std::int64_t kMostMasterFrames = 65536;

/// Averages the frames of a capture, each pixel for itself, without what hit single frames (cosmic
/// rays, a passing satellite): the mean of the samples within 4 sigma of the pixel's trimmed mean.
/// Sigma is the largest of: the pixel's own, trimmed of its smallest and largest sample; the
/// plane's typical one; half a quantisation step. Trimming, because among n samples none can be
/// further than (n-1)/sqrt(n) of their own sigma from their own mean (Samuelson 1968, from memory):
/// without trimming, no outlier could be found among fewer than 18 frames. Under 5 frames: plain
/// mean.
///
/// Reads the capture twice; memory: 16 bytes a sample of one frame, whatever its length. The result
/// does not depend on the order of the frames.
/// @throws InputError when no frame can be decoded, or the file changes while it is read;
/// Interrupted.
[[nodiscard]] Master average(capture::Capture& source, const Progress& progress = {});

/// Takes the flat dark off a flat. @throws InputError when they do not fit each other.
/// @return notes for the user, of check_fits().
std::vector<std::string> subtract_dark(Master& flat, const Master& flat_dark);

/// Opens a capture, a single image, a numbered sequence or a folder of these, and averages it.
/// @throws InputError: not readable, or no frame can be decoded; Interrupted.
[[nodiscard]] Master read_master(const std::string& path, const Progress& progress = {},
                                 const capture::OpenOptions& options = {});

}  // namespace lull::calibrate
