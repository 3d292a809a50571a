#include "core/words.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace lull {

namespace {

constexpr double kLeastPercent = 0.001;
constexpr std::array<std::string_view, 20> kUnits = {
    "px", "mm", "um", "nm",  "s",   "ms", "min",  "h",   "ADU",      "arcsec",
    "MB", "GB", "M",  "MiB", "GiB", "x",  "px/s", "UTC", "frames/s", "electrons"};

bool is_digit(char c) { return c >= '0' && c <= '9'; }

}  // namespace

std::string counted(std::int64_t count, const std::string& noun) {
  return fmt::format("{} {}{}", count, noun, count == 1 ? "" : "s");
}

std::string percent_of(std::int64_t part, std::int64_t whole) {
  if (part == 0 || whole <= 0) return "0%";
  const double percent = 100 * static_cast<double>(part) / static_cast<double>(whole);
  if (percent < kLeastPercent) return fmt::format("less than {}%", kLeastPercent);
  const int decimals = std::max(0, 1 - static_cast<int>(std::floor(std::log10(percent))));
  return fmt::format("{:.{}f}%", percent, decimals);
}

bool binds_number(std::string_view text, std::size_t space) {
  if (space == 0 || space + 1 >= text.size()) return false;
  const std::string_view before = text.substr(0, space);
  const std::string_view after = text.substr(space + 1);
  if (before.ends_with(" x")) return is_digit(after.front());
  if (!is_digit(before.back())) return false;
  std::string_view word = after.substr(0, after.find(' '));
  while (!word.empty() && std::string_view(".,;:)").find(word.back()) != std::string_view::npos)
    word.remove_suffix(1);
  return std::find(kUnits.begin(), kUnits.end(), word) != kUnits.end();
}

std::string with_bound_numbers(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == ' ' && binds_number(text, i)) {
      out += "\u00A0";
    } else {
      out += text[i];
    }
  }
  return out;
}

}  // namespace lull
