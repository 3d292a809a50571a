#pragma once

#include <string>

#include "capture/capture_info.h"
#include "capture/frame.h"
#include "files/picture.h"

namespace lull::desk {

/// A frame as a picture to look at: light, 1 channel or 3. A mosaic gets its missing colours from
/// the mean of the nearest samples that have them; nothing else is made of it.
/// @param box  within the frame.
[[nodiscard]] files::Picture light_of(const capture::Frame& frame, const capture::CaptureInfo& info,
                                      const Box& box);

/// The mean over squares of that side; what does not fill one is left out.
[[nodiscard]] files::Picture reduced(files::Picture picture, int side);

/// Samples of 16 bits, little-endian, rows from the top, channels interleaved.
[[nodiscard]] std::string sample_bytes(const files::PictureView& picture,
                                       const files::Encoding& encoding);

/// The integers of a frame as they are stored, likewise: one plane, or three of a frame in red,
/// green and blue. Of video the luma.
[[nodiscard]] std::string recorded_bytes(const capture::Frame& frame, const Box& box);

}  // namespace lull::desk
