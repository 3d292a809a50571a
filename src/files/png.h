#pragma once

#include <filesystem>

#include "files/metadata.h"
#include "files/picture.h"
#include "files/picture_bands.h"
#include "files/stored_picture.h"

namespace lull::files {

/// Writes a 16-bit PNG: grey or RGB. The text chunk Description holds describe(), which states
/// whether values are linear; there is no gAMA chunk, so that the same values look the same as in
/// the TIFF; with Metadata::srgb an iCCP chunk holds the profile. The file appears complete or not
/// at all. Source: PNG Specification 1.2.
/// @return what the encoding had to clamp. @throws OutputError.
Clipped write_png16(const std::filesystem::path& path, const PictureView& picture,
                    const Encoding& encoding, const Metadata& metadata);

/// The same of a picture that comes in bands.
Clipped write_png16_bands(const std::filesystem::path& path, const PictureBands& picture,
                          const Encoding& encoding, const Metadata& metadata);

/// Reads a PNG of any colour type and depth; alpha is ignored. @throws InputError.
[[nodiscard]] PictureFile read_png(const std::filesystem::path& path, const SizeCheck& check = {});

}  // namespace lull::files
