#pragma once

#include <memory>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "capture/frame.h"

namespace lull::calibrate {

/// The captures and pictures of a calibration input: the file itself, or the files of a folder, by
/// name. Hidden files, folders within, and files without the extension of a picture or a video are
/// ignored.
/// @throws InputError: a folder that cannot be read, or that holds none.
[[nodiscard]] std::vector<std::string> calibration_files(const std::string& path);

/// The first frames of joined captures, as far as they have been read.
using Beginnings = std::shared_ptr<std::vector<FrameIndex>>;

/// Several captures or pictures one after the other, as if recorded in one. Times go on by the
/// clock where every file states its start, else without a pause.
/// They must have the same size, colour, mosaic and bits of a sample. The depth, judged from few
/// samples, is that of the deepest.
/// @param paths  at least one. @param beginnings  is kept up to date; null: not wanted.
/// @throws InputError naming the first that differs, and in what.
[[nodiscard]] std::unique_ptr<capture::Capture> open_joined(const std::vector<std::string>& paths,
                                                            const capture::OpenOptions& options,
                                                            Beginnings beginnings = nullptr);

}  // namespace lull::calibrate
