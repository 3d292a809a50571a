#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "judge/judge.h"

namespace lull::judge {

/// Largest distance of a colour channel from green, px; 0 for one channel.
[[nodiscard]] double channel_misregistration_px(const Verdict& verdict);

/// All figures; shares from 0 to 1, dB, px. With three channels the figures at the top are their
/// means, per_channel holds each, and channel_misregistration_px their distances from green.
[[nodiscard]] nlohmann::ordered_json to_json(const Verdict& verdict);

/// The same for reading, lines end in \n; without the curves.
[[nodiscard]] std::string to_text(const Verdict& verdict);

}  // namespace lull::judge
