#pragma once

#include <functional>
#include <optional>
#include <string>

#include "capture/frame.h"

namespace lull::capture {

/// Order of the two bytes of a raw sample.
enum class ByteOrder {
  automatic,  ///< as the file states; in SER unless the samples clearly contradict it
  little,
  big,
};

/// What becomes of an option that makes no sense for the file.
enum class Misfit { refused, left_out };

/// How to read a capture whose file states nothing or something wrong.
struct OpenOptions {
  int decoder_threads = 0;  ///< 0 = as many as the machine has; used by compressed captures
  ByteOrder byte_order = ByteOrder::automatic;
  std::optional<Cfa> cfa{};  ///< of the frames as stored; Cfa::none: no mosaic; not set: as stated
  std::string pixel_format{};  ///< of raw video, libav's name; empty: as stated
  Misfit misfit = Misfit::refused;
  /// Looks at the size of the frames before the first is decoded; throws where it is not wanted.
  std::function<void(const std::string& path, Size)> check_size{};
};

}  // namespace lull::capture
