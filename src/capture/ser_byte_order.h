#pragma once

#include "capture/input_file.h"
#include "capture/open_options.h"
#include "capture/ser_file.h"

namespace lull::capture {

/// Sets ser.little_endian for a capture of two-byte samples. Asked for: obeyed. Automatic: the
/// header's word, unless the samples speak clearly against it, for some programs write the flag
/// the wrong way round. What was decided against the header goes into ser.notes.
/// @param data_at  byte of the file at which frame 0 begins.
void choose_byte_order(InputFile& file, std::int64_t data_at, ByteOrder order, SerFile& ser);

}  // namespace lull::capture
