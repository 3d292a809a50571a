#include "core/utc.h"

#include <fmt/format.h>

#include <array>
#include <chrono>
#include <cmath>

#include "core/assert.h"

namespace lull {

namespace {

namespace chrono = std::chrono;

constexpr int kDecimals = 7;  ///< of a second in a tick
constexpr std::int64_t kTicksPerDay = 86'400 * kTicksPerSecond;

chrono::sys_days first_day() { return chrono::year(1) / chrono::January / 1; }

Utc begin_of(chrono::year_month_day day) {
  return {(chrono::sys_days(day) - first_day()).count() * kTicksPerDay};
}

/// Takes a number of exactly `digits` digits off the front of `text`.
std::optional<int> take_number(std::string_view& text, std::size_t digits) {
  if (text.size() < digits) return std::nullopt;
  int value = 0;
  for (const char c : text.substr(0, digits)) {
    if (c < '0' || c > '9') return std::nullopt;
    value = 10 * value + (c - '0');
  }
  text.remove_prefix(digits);
  return value;
}

bool take(std::string_view& text, char c) {
  if (text.empty() || text.front() != c) return false;
  text.remove_prefix(1);
  return true;
}

/// The ticks of ".123"; nothing when there is no fraction.
std::optional<std::int64_t> take_fraction(std::string_view& text) {
  if (!take(text, '.')) return 0;
  std::int64_t ticks = 0;
  std::int64_t unit = kTicksPerSecond;
  std::size_t digits = 0;
  for (; digits < text.size() && text[digits] >= '0' && text[digits] <= '9'; ++digits) {
    unit /= 10;
    ticks += unit * (text[digits] - '0');
  }
  text.remove_prefix(digits);
  if (digits == 0) return std::nullopt;
  return ticks;
}

std::optional<std::int64_t> take_time_of_day(std::string_view& text) {
  const auto hour = take_number(text, 2);
  if (!hour || !take(text, ':')) return std::nullopt;
  const auto minute = take_number(text, 2);
  if (!minute || !take(text, ':')) return std::nullopt;
  const auto second = take_number(text, 2);
  const auto fraction = take_fraction(text);
  if (!second || !fraction || *hour > 23 || *minute > 59 || *second > 60) return std::nullopt;
  return ((*hour * 60 + *minute) * 60 + *second) * kTicksPerSecond + *fraction;
}

}  // namespace

Utc after(Utc moment, double seconds) {
  return {moment.ticks + std::llround(seconds * static_cast<double>(kTicksPerSecond))};
}

double seconds_between(Utc from, Utc to) {
  return static_cast<double>(to.ticks - from.ticks) / static_cast<double>(kTicksPerSecond);
}

bool is_plausible(Utc moment) {
  static const Utc first = begin_of(chrono::year(1990) / chrono::January / 1);
  static const Utc behind = begin_of(chrono::year(2200) / chrono::January / 1);
  return moment >= first && moment < behind;
}

std::string iso8601(Utc moment, int decimals) {
  LULL_ASSERT(moment.ticks >= 0 && decimals >= 0 && decimals <= kDecimals);
  const std::int64_t in_day = moment.ticks % kTicksPerDay;
  const chrono::year_month_day day = first_day() + chrono::days(moment.ticks / kTicksPerDay);
  const std::int64_t second = in_day / kTicksPerSecond;
  std::string text =
      fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}", static_cast<int>(day.year()),
                  static_cast<unsigned>(day.month()), static_cast<unsigned>(day.day()),
                  second / 3600, second / 60 % 60, second % 60);
  if (decimals == 0) return text;
  const std::string fraction = fmt::format("{:07}", in_day % kTicksPerSecond);
  return text + "." + fraction.substr(0, static_cast<std::size_t>(decimals));
}

std::optional<Utc> parse_iso8601(std::string_view text) {
  const auto year = take_number(text, 4);
  if (!year || !take(text, '-')) return std::nullopt;
  const auto month = take_number(text, 2);
  if (!month || !take(text, '-')) return std::nullopt;
  const auto day = take_number(text, 2);
  if (!day || *year < 1) return std::nullopt;
  const chrono::year_month_day date = chrono::year(*year) /
                                      chrono::month(static_cast<unsigned>(*month)) /
                                      chrono::day(static_cast<unsigned>(*day));
  if (!date.ok()) return std::nullopt;
  Utc moment = begin_of(date);
  if (take(text, 'T')) {
    const auto time = take_time_of_day(text);
    if (!time) return std::nullopt;
    moment.ticks += *time;
    static_cast<void>(take(text, 'Z'));
  }
  if (!text.empty()) return std::nullopt;
  return moment;
}

}  // namespace lull
