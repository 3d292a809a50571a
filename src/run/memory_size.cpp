#include "run/memory_size.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>

#include "core/error.h"

namespace lull::run {

namespace {

constexpr double kMebi = 1024.0 * 1024.0;
constexpr double kSmallest = 64 * kMebi;
constexpr double kLargest = 1e15;

}  // namespace

std::size_t parse_memory_size(const std::string& text) {
  if (text == "auto") return 0;
  double value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  std::string unit(stop, end);
  std::transform(unit.begin(), unit.end(), unit.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  double factor = 0;
  if (unit.empty() || unit == "B") factor = 1;
  if (unit == "K" || unit == "KB" || unit == "KIB") factor = 1024;
  if (unit == "M" || unit == "MB" || unit == "MIB") factor = kMebi;
  if (unit == "G" || unit == "GB" || unit == "GIB") factor = 1024 * kMebi;
  const double bytes = value * factor;
  if (error != std::errc() || !(bytes > 0) || bytes > kLargest) {
    throw UsageError(fmt::format("--memory {}: use a size such as 800M or 2G", text));
  }
  if (bytes < kSmallest) {
    throw UsageError(fmt::format("--memory {}: at least 64M are needed", text));
  }
  return static_cast<std::size_t>(bytes);
}

std::size_t default_memory_size() {
  return static_cast<std::size_t>(std::clamp(machine_memory() / 4, 256 * kMebi, 4096 * kMebi));
}

double machine_memory() {
  const double pages = static_cast<double>(sysconf(_SC_PHYS_PAGES));
  return pages * static_cast<double>(sysconf(_SC_PAGESIZE));
}

}  // namespace lull::run
