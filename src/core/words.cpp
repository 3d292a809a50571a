#include "core/words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

constexpr double kLeastPercent = 0.001;

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

}  // namespace lull
