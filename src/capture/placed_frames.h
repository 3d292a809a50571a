#pragma once

#include <cstdint>

#include "capture/input_file.h"
#include "capture/libav.h"

namespace lull::capture {

/// Raw frames of one size whose places in the file are known. Each is read into memory that an
/// earlier frame has left, also where frames outlive this: new memory costs more than the reading.
class PlacedFrames {
 public:
  /// @param file  outlives this. @param bytes  of a frame. @throws std::bad_alloc
  PlacedFrames(InputFile& file, int bytes);

  /// @param position  byte of the file at which the frame begins.
  /// @return false where the file has become shorter. @throws InputError when the disk fails.
  [[nodiscard]] bool read(std::int64_t position, AVPacket& packet);

 private:
  InputFile& file_;
  int bytes_;
  BufferPool pool_;
};

}  // namespace lull::capture
