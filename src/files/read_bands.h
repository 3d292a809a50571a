#pragma once

#include <cstddef>
#include <filesystem>
#include <functional>

#include "files/picture.h"

namespace lull::files {

/// What is known of a stored picture before its samples.
struct StoredFacts {
  Size size;
  std::size_t channels = 1;  ///< 1 or 3
  bool stretched = false;    ///< its file states that values are not proportional to light
};

/// Who reads a picture in bands.
struct BandTaker {
  std::function<void(const StoredFacts&)> begin;              ///< once, before the first band
  std::function<void(const PictureView& band, int y0)> take;  ///< rows from y0, from the top
};

/// Reads a picture from the top in bands of some hundred rows, so that it may be larger than
/// memory: samples as read_picture() gives them, but not looked at for being finite. A PNG, and a
/// FITS file of integers, is read whole before.
/// @throws InputError as read_picture() does; a TIFF or a FITS of floats may have kMaxBandsPx.
void read_bands(const std::filesystem::path& path, const BandTaker& taker);

}  // namespace lull::files
