#pragma once

#include <filesystem>

#include "files/metadata.h"
#include "files/picture.h"
#include "files/picture_bands.h"
#include "files/stored_picture.h"

namespace lull::files {

/// Writes a 16-bit TIFF: grey or RGB, deflate with horizontal differencing, square pixels without
/// a physical resolution. ImageDescription holds describe();
/// with Metadata::srgb there is an ICC profile. The file appears complete or not at
/// all. Source: TIFF Revision 6.0.
/// @return what the encoding had to clamp. @throws OutputError.
Clipped write_tiff16(const std::filesystem::path& path, const PictureView& picture,
                     const Encoding& encoding, const Metadata& metadata);

/// The same with an alpha channel behind the others, which is not multiplied into them.
/// @param seen  of the picture's size: where it is 0 the picture is transparent.
Clipped write_tiff16_alpha(const std::filesystem::path& path, const PictureView& picture,
                           const Encoding& encoding, const Metadata& metadata,
                           const PlaneView& seen);

/// How samples lie in a TIFF.
struct TiffLayout {
  bool tiled = false;  ///< in squares of kBandRows, so that a viewer reads what it shows; else rows
  bool big = false;    ///< BigTIFF: offsets of 64 bits, for files of more than 4 GB

  friend bool operator==(const TiffLayout&, const TiffLayout&) = default;
};

/// Tiles from 50 million pixels; BigTIFF where 16-bit samples that do not shrink would pass 4 GB
/// (TIFF 6.0: offsets of 32 bits).
[[nodiscard]] TiffLayout tiff_layout(Size size, std::size_t channels);

/// The same of a picture that comes in bands.
Clipped write_tiff16_bands(const std::filesystem::path& path, const PictureBands& picture,
                           const TiffLayout& layout, const Encoding& encoding,
                           const Metadata& metadata);

/// Reads the first image of a TIFF, in strips or tiles; does not check that floats are finite: see
/// read_picture().
/// @throws InputError.
[[nodiscard]] PictureFile read_tiff(const std::filesystem::path& path, const SizeCheck& check = {});

/// See read_bands().
void read_tiff_bands(const std::filesystem::path& path, const BandTaker& taker);

}  // namespace lull::files
