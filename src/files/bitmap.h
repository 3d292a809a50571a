#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace lull::files {

/// A picture to show: 8-bit samples, channels interleaved, rows without gaps.
struct Bitmap {
  int width_px = 0;
  int height_px = 0;
  int channels = 1;  ///< 1 or 3
  std::vector<std::uint8_t> samples;
};

/// JPEG has two bytes for a side; libjpeg allows this much (JPEG_MAX_DIMENSION).
inline constexpr int kLongestJpegSide = 65500;

/// The bytes of a PNG file (grey or RGB, with the chunk sRGB): nothing is lost.
/// @throws OutputError with libpng's message.
[[nodiscard]] std::vector<std::byte> encode_png(const Bitmap& bitmap);

/// What a JPEG file states beside its samples; empty = nothing.
struct JpegSegments {
  std::vector<std::uint8_t> exif;  ///< see exif_segment()
  std::vector<std::byte> profile;  ///< ICC
};

/// The bytes of a JPEG file, colours at full resolution.
/// @param bitmap   no side above kLongestJpegSide.
/// @param quality  1 to 100, as libjpeg has it.
/// @throws OutputError.
[[nodiscard]] std::vector<std::byte> encode_jpeg(const Bitmap& bitmap, int quality,
                                                 const JpegSegments& segments = {});

}  // namespace lull::files
