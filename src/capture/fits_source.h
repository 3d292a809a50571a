#pragma once

#include <memory>
#include <string>
#include <vector>

#include "capture/packet_source.h"

namespace lull::capture {

/// Frames of a FITS cube, or of numbered FITS pictures (one path each; an empty one is missing and
/// becomes a damaged frame), as raw packets. Bytes and unsigned words stay as they are. Other
/// values are read once for their range and converted to 16 bits, see StreamFacts::scale.
/// @throws InputError
[[nodiscard]] std::unique_ptr<PacketSource> open_fits(std::vector<std::string> paths,
                                                      const std::string& shown_path);

}  // namespace lull::capture
