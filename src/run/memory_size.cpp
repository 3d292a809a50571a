#include "run/memory_size.h"

#include <fmt/format.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <fstream>
#include <sstream>

#include "core/error.h"

namespace lull::run {

namespace {

constexpr double kMebi = 1024.0 * 1024.0;
constexpr double kSmallest = 64 * kMebi;
constexpr double kLargest = 1e15;

// The number in the line of /proc/meminfo that begins with `key`, bytes; negative: none.
double meminfo(const std::string& key) {
  std::ifstream file("/proc/meminfo");
  for (std::string line; std::getline(file, line);) {
    std::istringstream words(line);
    std::string name;
    double kibi = 0;
    if (words >> name >> kibi && name == key + ":") return kibi * 1024;
  }
  return -1;
}

// Number alone in a file; negative: none, or "max".
double number_in(const std::string& path) {
  std::ifstream file(path);
  double value = -1;
  return file >> value ? value : -1;
}

// What the control group of this process has left (cgroup v2: proc(5), cgroups(7)).
double group_memory(double otherwise) {
  std::ifstream file("/proc/self/cgroup");
  for (std::string line; std::getline(file, line);) {
    if (!line.starts_with("0::")) continue;
    const std::string folder = "/sys/fs/cgroup" + line.substr(3);
    const double limit = number_in(folder + "/memory.max");
    const double used = number_in(folder + "/memory.current");
    if (limit > 0 && used >= 0) return std::max(limit - used, 0.0);
  }
  return otherwise;
}

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

double machine_memory() {
  const double pages = static_cast<double>(sysconf(_SC_PHYS_PAGES));
  return pages * static_cast<double>(sysconf(_SC_PAGESIZE));
}

double free_memory() {
  const double available = meminfo("MemAvailable");
  const double swap = std::max(meminfo("SwapFree"), 0.0);
  double free = available < 0 ? machine_memory() : available + swap;
  rlimit limit{};
  if (getrlimit(RLIMIT_AS, &limit) == 0 && limit.rlim_cur != RLIM_INFINITY)
    free = std::min(free, static_cast<double>(limit.rlim_cur));
  return std::min(free, group_memory(free));
}

}  // namespace lull::run
