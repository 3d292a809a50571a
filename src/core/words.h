#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace lull {

/// "1 frame", "2 frames".
[[nodiscard]] std::string counted(std::int64_t count, const std::string& noun);

/// Part of a whole in percent, two digits of it: "12%", "0.034%"; less than any reader minds is
/// "less than 0.001%". @param whole  0: "0%".
[[nodiscard]] std::string percent_of(std::int64_t part, std::int64_t whole);

/// Whether the space at this place stands between a number and its unit, or beside the x of
/// "320 x 240 px": a line should not end there.
[[nodiscard]] bool binds_number(std::string_view text, std::size_t space);

/// The text with no-break spaces (U+00A0) in these places, for those who break lines at others.
[[nodiscard]] std::string with_bound_numbers(std::string_view text);

}  // namespace lull
