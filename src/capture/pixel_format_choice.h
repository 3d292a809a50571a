#pragma once

#include <memory>
#include <string>

#include "capture/packet_source.h"

namespace lull::capture {

/// The packets of `source`, taken as raw frames of that pixel format whatever the container says,
/// for containers that cannot say it (16-bit gray in AVI) or whose codec is not known. Rows that a
/// container has filled up to four bytes are closed up. Packets of another size are damaged.
/// @param lenient  give `source` back as it is where the format makes no sense for it.
/// @throws UsageError: not a readable format, frames are coded, or their bytes do not fit.
[[nodiscard]] std::unique_ptr<PacketSource> read_as(const std::string& pixel_format,
                                                    std::unique_ptr<PacketSource> source,
                                                    const std::string& path, bool lenient);

}  // namespace lull::capture
