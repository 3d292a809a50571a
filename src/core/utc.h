#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace lull {

/// A moment of UTC, in steps of 100 ns since 0001-01-01T00:00:00 of the Gregorian calendar; leap
/// seconds are not counted. The steps and their origin are those of the time stamps in SER files.
struct Utc {
  std::int64_t ticks = 0;

  // NOLINTNEXTLINE(modernize-use-nullptr): the check sees the compiler's own comparison with 0
  auto operator<=>(const Utc&) const = default;
};

inline constexpr std::int64_t kTicksPerSecond = 10'000'000;

/// `seconds` later, rounded to a tick.
[[nodiscard]] Utc after(Utc moment, double seconds);

[[nodiscard]] double seconds_between(Utc from, Utc to);

/// Within the years 1990 to 2199, in which captures can have been recorded.
[[nodiscard]] bool is_plausible(Utc moment);

/// ISO 8601 as FITS wants it (FITS Standard 4.0, section 9.1.1): 2022-09-28T22:13:20.0000000, with
/// `decimals` (0 to 7) of the seconds, cut off, and without a letter for the zone.
[[nodiscard]] std::string iso8601(Utc moment, int decimals = 6);

/// Reads a date, or a date and a time, of that form; a Z at the end is allowed, another zone is
/// not.
[[nodiscard]] std::optional<Utc> parse_iso8601(std::string_view text);

}  // namespace lull
