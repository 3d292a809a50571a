#pragma once

#include "capture/input_file.h"
#include "capture/open_options.h"
#include "capture/ser_file.h"

namespace lull::capture {

/// Reads the header, counts whole frames, finds the trailer, and checks the byte order. Then
/// shows readers of `file` a header with the true count and byte order: libav takes the header's
/// word for both, and reads a trailer as pictures if the count is too high.
/// @throws InputError: too short, no whole frame, impossible size, unknown kind of colour.
[[nodiscard]] SerFile repair_ser(InputFile& file, ByteOrder order);

}  // namespace lull::capture
