#pragma once

#include <string>

#include "finish/channel_offsets.h"
#include "finish/pose.h"
#include "run/option.h"

namespace lull::run {

/// Four numbers: red to the right and down, then blue, px.
/// @throws UsageError: it is something else, or farther than anyone needs.
[[nodiscard]] finish::ChannelOffsets parse_channel_offsets(const std::string& text);

/// The way parse_channel_offsets() reads it back.
[[nodiscard]] std::string print_channel_offsets(const finish::ChannelOffsets& offsets);

/// Flip and rotation.
[[nodiscard]] const OptionTable<finish::Pose>& pose_options();

}  // namespace lull::run
