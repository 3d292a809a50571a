#pragma once

#include <cstddef>
#include <functional>

#include "files/picture.h"

namespace lull::files {

/// A picture that need not be whole in memory. Writers ask for its rows from the top, band by band.
struct PictureBands {
  Size size;
  std::size_t channels = 1;  ///< 1 or 3
  /// Rows y0 to y1 - 1 of all channels. The views hold until the next call.
  std::function<PictureView(int y0, int y1)> rows;
};

/// Rows of a band that writers ask for, fewer at the end.
inline constexpr int kBandRows = 256;

/// No picture that is written by bands may have more pixels: files of 24 GB in colour.
inline constexpr std::int64_t kMaxBandsPx = 2'000'000'000;

/// Of a picture in memory, which outlives them. @throws OutputError, UsageError as check_picture().
[[nodiscard]] PictureBands bands_of(const PictureView& picture, const Encoding& encoding);

/// Before writing. @throws OutputError when the picture has more than kMaxBandsPx or no pixels,
/// UsageError when black is not below white.
void check_bands(const PictureBands& picture, const Encoding& encoding);

}  // namespace lull::files
