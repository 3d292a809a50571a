#pragma once

#include <optional>
#include <string>

#include "capture/frame.h"

namespace lull::capture {

/// Order of the two bytes of a raw sample.
enum class ByteOrder {
  automatic,  ///< the file's word; in SER unless the pictures speak clearly against it
  little,
  big,
};

/// How a capture is to be read, where its file says nothing or something wrong.
struct OpenOptions {
  int decoder_threads = 0;  ///< 0 = as many as the machine has; used by compressed captures
  ByteOrder byte_order = ByteOrder::automatic;
  std::optional<Cfa> cfa{};  ///< of the frames as stored; Cfa::none: no mosaic; not set: as it says
  std::string pixel_format{};  ///< of raw video, libav's name; empty: as it says
  bool lenient = false;  ///< leave out what makes no sense for this file instead of refusing it
};

}  // namespace lull::capture
