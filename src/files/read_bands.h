#pragma once

#include <filesystem>

#include "files/stored_picture.h"

namespace lull::files {

/// Reads a picture from the top in bands of some hundred rows, so that it may be larger than
/// memory: samples as read_picture() gives them, but not looked at for being finite. A PNG, and a
/// FITS file of integers, is read whole before.
/// @throws InputError as read_picture() does; a TIFF or a FITS of floats may have kMaxBandsPx.
void read_bands(const std::filesystem::path& path, const BandTaker& taker);

}  // namespace lull::files
