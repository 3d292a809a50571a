#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "report/tone.h"

namespace lull::report {

/// The bitmap as a PNG file: nothing is lost. @throws std::runtime_error.
[[nodiscard]] std::vector<std::uint8_t> png_of(const Bitmap& bitmap);

/// The bitmap as a JPEG file, colours at full resolution. @param quality 1 to 100, as libjpeg has
/// it. @throws std::runtime_error.
[[nodiscard]] std::vector<std::uint8_t> jpeg_of(const Bitmap& bitmap, int quality);

/// Base64 (RFC 4648, section 4).
[[nodiscard]] std::string base64(std::span<const std::uint8_t> bytes);

}  // namespace lull::report
