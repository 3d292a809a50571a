#pragma once

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

}  // namespace lull::files
