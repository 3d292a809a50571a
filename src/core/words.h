#pragma once

#include <cstdint>
#include <string>

namespace lull {

/// "1 frame", "2 frames".
[[nodiscard]] std::string counted(std::int64_t count, const std::string& noun);

/// Part of a whole in percent, two digits of it: "12%", "0.034%"; less than any reader minds is
/// "less than 0.001%". @param whole  0: "0%".
[[nodiscard]] std::string percent_of(std::int64_t part, std::int64_t whole);

}  // namespace lull
