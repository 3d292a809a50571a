#pragma once

#include <memory>
#include <string>

#include "capture/packet_source.h"
#include "capture/sequence_pattern.h"

namespace lull::capture {

/// Pictures numbered by the pattern, from the smallest number that exists to the largest. Missing
/// numbers within become damaged frames. @throws InputError: no such picture, or not pictures.
[[nodiscard]] std::unique_ptr<PacketSource> open_sequence(const SequencePattern& pattern,
                                                          const std::string& shown_path);

/// One picture: a capture of one frame. @throws InputError
[[nodiscard]] std::unique_ptr<PacketSource> open_picture(const std::string& path);

}  // namespace lull::capture
