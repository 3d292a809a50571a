#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "files/metadata.h"
#include "files/picture.h"
#include "support/run_program.h"

namespace lull::test {

/// Runs pictures.py, which reads and writes pictures with OpenCV, tifffile and astropy.
[[nodiscard]] Run run_pictures(const std::vector<std::string>& arguments);

/// Seeded values, mostly in [0, 1], some below and above.
[[nodiscard]] files::Picture seeded_picture(Size size, int channels, unsigned seed);

/// All samples of a picture, rows from the top, channels interleaved.
[[nodiscard]] std::vector<float> samples_of(const files::Picture& picture);

/// The 16-bit values that an encoding must give, computed one by one.
[[nodiscard]] std::vector<std::uint16_t> encoded_samples_of(const files::Picture& picture,
                                                            const files::Encoding& encoding);

[[nodiscard]] files::Metadata sample_metadata();

}  // namespace lull::test
