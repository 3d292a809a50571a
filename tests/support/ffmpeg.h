#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "support/bytes.h"

namespace lull::test {

/// What the ffmpeg program decodes the file to, cut into pictures of `picture_bytes`: an outside
/// reference. The test fails where the program is missing.
[[nodiscard]] std::vector<Bytes> decoded_by_ffmpeg(const std::string& path,
                                                   const std::string& pixel_format,
                                                   std::size_t picture_bytes);

}  // namespace lull::test
