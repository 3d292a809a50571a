#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace lull::files {

/// What the file of a copy for screens states beside its samples.
struct ShareTags {
  std::string recorded_utc;  ///< "2026-03-01T20:15:03" and more; empty = not known
  std::string description;   ///< UTF-8; empty = none
};

/// The content of a JPEG's segment APP1 in Exif 2.32 (CIPA DC-008-2019): DateTimeOriginal and
/// OffsetTimeOriginal where the moment is known, ImageDescription where there is one, and
/// ColorSpace, which is sRGB.
[[nodiscard]] std::vector<std::uint8_t> exif_segment(const ShareTags& tags);

}  // namespace lull::files
