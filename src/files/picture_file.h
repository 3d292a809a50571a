#pragma once

#include <filesystem>

#include "files/metadata.h"
#include "files/picture.h"
#include "files/picture_bands.h"
#include "files/stored_picture.h"

namespace lull::files {

/// The format that a file name asks for: .tif .tiff .png .fits .fit, in any case.
/// @throws UsageError for any other ending, naming these.
[[nodiscard]] Format format_of(const std::filesystem::path& path);

/// The format of the first bytes of a file. @throws InputError for any other.
[[nodiscard]] Format format_of_content(const std::filesystem::path& path);

/// Writes a picture in the format its name asks for: TIFF and PNG as 16-bit integers, FITS as
/// 32-bit float without any scaling. The file appears complete or not at all.
/// @return what the 16-bit encoding had to clamp; nothing for FITS.
/// @throws UsageError, OutputError.
Clipped write_picture(const std::filesystem::path& path, const PictureView& picture,
                      const Encoding& encoding, const Metadata& metadata);

/// The same of a picture that comes in bands, of up to kMaxBandsPx.
Clipped write_bands(const std::filesystem::path& path, const PictureBands& picture,
                    const Encoding& encoding, const Metadata& metadata);

/// Reads TIFF (8, 16 bit, 32-bit float), PNG (any) or FITS (the first image; 8, 16 bit,
/// float). The first bytes decide the format, not the name. An alpha channel is ignored.
/// @throws InputError when the file is missing, damaged, of another kind, larger than
///         kMaxPicturePx, or holds samples that are not finite numbers.
[[nodiscard]] PictureFile read_picture(const std::filesystem::path& path,
                                       const SizeCheck& check = {});

}  // namespace lull::files
