#include "profile/time_zone.h"

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <regex>

namespace lull::profile {

namespace {

namespace fs = std::filesystem;

constexpr const char* kZones = "/usr/share/zoneinfo";
constexpr int kMinutesAnHour = 60;
constexpr int kMostHours = 14;  // Kiribati; in the west -12

}  // namespace

std::optional<int> fixed_offset_min(const std::string& zone) {
  if (zone == "UTC" || zone == "Z") return 0;
  static const std::regex form("([+-])([0-9]{2}):([0-5][0-9])");
  std::smatch match;
  if (!std::regex_match(zone, match, form)) return std::nullopt;
  const int minutes = std::stoi(match[2]) * kMinutesAnHour + std::stoi(match[3]);
  if (minutes > kMostHours * kMinutesAnHour) return std::nullopt;
  return match[1] == "-" ? -minutes : minutes;
}

bool is_time_zone(const std::string& zone) {
  if (fixed_offset_min(zone)) return true;
  const bool is_name = std::all_of(zone.begin(), zone.end(), [](unsigned char c) {
    return std::isalnum(c) != 0 || c == '/' || c == '_' || c == '-' || c == '+';
  });
  if (!is_name || zone.empty() || !std::isalpha(static_cast<unsigned char>(zone.front())))
    return false;
  std::error_code ignored;
  if (!fs::is_directory(kZones, ignored)) return true;
  return fs::is_regular_file(fs::path(kZones) / zone, ignored);
}

}  // namespace lull::profile
