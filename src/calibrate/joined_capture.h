#pragma once

#include <memory>
#include <string>
#include <vector>

#include "capture/capture.h"

namespace lull::calibrate {

/// The captures and pictures that a name of a calibration input stands for: itself, or, of a
/// folder, what it holds, by name. Hidden files, folders within and files without the ending of a
/// picture or a video are passed over.
/// @throws InputError: a folder that cannot be read, or that holds none.
[[nodiscard]] std::vector<std::string> calibration_files(const std::string& path);

/// Several captures or pictures one after the other, as if recorded in one; open one at a time.
/// They must be stored alike: size, colour, mosaic, bits of a sample. The depth, judged from few
/// samples, is that of the deepest.
/// @param paths  at least one. @throws InputError naming the first that differs, and in what.
[[nodiscard]] std::unique_ptr<capture::Capture> open_joined(const std::vector<std::string>& paths,
                                                            const capture::OpenOptions& options);

}  // namespace lull::calibrate
