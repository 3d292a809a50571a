#pragma once

#include <filesystem>

#include "files/exif.h"
#include "files/picture.h"

namespace lull::files {

/// Whether a name ends in .jpg, .jpeg or .png, in any case. @throws UsageError naming these if not.
void check_share_name(const std::filesystem::path& path);

/// Writes a picture of 8 bits for showing, by the ending of its name: PNG (with the chunk sRGB) or
/// JPEG (quality 92, colours at full resolution). JPEG also holds the tags as Exif (CIPA
/// DC-008-2019: DateTimeOriginal, OffsetTimeOriginal, ImageDescription, ColorSpace) and the profile
/// of srgb_profile(). The file appears complete or not at all.
/// @param picture  1 or 3 channels of brightness by the sRGB curve, cut to [0, 1].
/// @throws UsageError, OutputError: JPEG allows 65500 px a side.
void write_share(const std::filesystem::path& path, const PictureView& picture,
                 const ShareTags& tags = {});

}  // namespace lull::files
