#pragma once

#include <filesystem>

#include "files/metadata.h"
#include "files/picture.h"
#include "files/stored_picture.h"

namespace lull::files {

/// Writes a 16-bit TIFF: grey or RGB, deflate with horizontal differencing, square pixels without
/// a physical resolution. ImageDescription holds describe();
/// with Metadata::srgb there is an ICC profile. The file appears complete or not at
/// all. Source: TIFF Revision 6.0.
/// @return what the encoding had to clamp. @throws OutputError.
Clipped write_tiff16(const std::filesystem::path& path, const PictureView& picture,
                     const Encoding& encoding, const Metadata& metadata);

/// Reads the first image of a TIFF; does not check that floats are finite: see read_picture().
/// @throws InputError.
[[nodiscard]] PictureFile read_tiff(const std::filesystem::path& path, const SizeCheck& check = {});

}  // namespace lull::files
