#pragma once

#include <cstddef>
#include <functional>

#include "files/picture.h"

namespace lull::files {

enum class Format { tiff, png, fits };

/// Looks at the size of a picture and the number of its channels before its samples are read;
/// throws where it is not wanted.
using SizeCheck = std::function<void(Size, int channels)>;

/// A picture read from a file.
struct PictureFile {
  Picture picture;  ///< integers divided by their full scale (1.0 = 255 or 65535); floats as stored
  Format format = Format::tiff;
  int bits_per_sample = 0;
  bool floating_point = false;
  bool has_alpha = false;  ///< the file has a fourth channel, or a second, that is left out
  bool stretched = false;  ///< its file states that values are not proportional to light
};

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

}  // namespace lull::files
