#pragma once

#include <memory>
#include <string>

#include "capture/packet_source.h"

namespace lull::capture {

/// The packets of `source`, read as raw frames of that pixel format instead of the stated one, for
/// containers that cannot state it (16-bit gray in AVI) or whose codec is not known. Padding of
/// rows to four bytes is removed. Packets of another size are damaged.
/// @param misfit  left_out: return `source` unchanged where the format does not fit it.
/// @throws UsageError: not a readable format, frames are coded, or their bytes do not fit.
[[nodiscard]] std::unique_ptr<PacketSource> read_as(const std::string& pixel_format,
                                                    std::unique_ptr<PacketSource> source,
                                                    const std::string& path, Misfit misfit);

}  // namespace lull::capture
