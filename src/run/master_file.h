#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "calibrate/master.h"
#include "calibrate/master_check.h"
#include "calibrate/pair_noise.h"
#include "core/progress.h"

namespace lull::run {

/// A master with the noise of its single frames, which their mean does not show.
struct KeptMaster {
  calibrate::Master master;
  std::optional<calibrate::PairNoise> noise;
};

/// Writes a master as FITS of 32-bit floats in the stored units of its frames; header cards hold
/// kind, layout, depth and noise, so that load_master() gets back all of it.
/// @param kind  dark or flat. @param history  how it was made, for the reader of the header.
/// @throws OutputError.
void write_master(const std::filesystem::path& path, const KeptMaster& kept,
                  calibrate::MasterKind kind, const std::string& history);

/// A master from what write_master() wrote, or averaged from a capture, an image, a numbered
/// sequence or a folder of these, read with the options; the noise only from a file of
/// write_master().
/// @throws InputError: cannot be read, or is a dark where a flat is wanted, or the reverse;
/// Interrupted.
[[nodiscard]] KeptMaster load_master(const std::string& path, calibrate::MasterKind wanted,
                                     const Progress& progress,
                                     const capture::OpenOptions& options = {});

}  // namespace lull::run
