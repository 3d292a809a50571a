#pragma once

#include "capture/input_file.h"
#include "capture/open_options.h"
#include "capture/ser_file.h"

namespace lull::capture {

/// Sets ser.little_endian for a capture of two-byte samples. An order that was asked for is used.
/// Automatic: the order of the header, unless the samples clearly contradict it, since some
/// programs write the flag inverted. A decision against the header is added to ser.notes.
/// @param data_at  byte of the file at which frame 0 begins.
void choose_byte_order(InputFile& file, std::int64_t data_at, ByteOrder order, SerFile& ser);

}  // namespace lull::capture
