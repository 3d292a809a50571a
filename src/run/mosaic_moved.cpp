#include "run/mosaic_moved.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/words.h"
#include "files/name_text.h"
#include "run/stack_header.h"

namespace lull::run {

namespace {

constexpr std::size_t kMostOverlaps = 4;  // that are told
constexpr double kStillMinutes = 5;
constexpr double kMinutesAnHour = 60;
constexpr double kMinutesADay = 24 * 60;
constexpr double kFewHours = 2;  // up to which minutes are told, and days after as many days

std::vector<mosaic::MovedOverlap> by_share(const mosaic::MovedLight& moved) {
  std::vector<mosaic::MovedOverlap> out = moved.overlaps;
  std::stable_sort(out.begin(), out.end(),
                   [](const auto& a, const auto& b) { return a.share > b.share; });
  return out;
}

}  // namespace

std::optional<double> minutes_apart(const PanelInput& one, const PanelInput& other) {
  const auto first = moment_in(one.cards, "DATE-AVG");
  const auto second = moment_in(other.cards, "DATE-AVG");
  if (!first || !second) return std::nullopt;
  return std::abs(seconds_between(*first, *second)) / 60;
}

std::vector<mosaic::Link> links_over_time(const std::vector<PanelInput>& panels,
                                          const std::vector<mosaic::Link>& links) {
  std::vector<mosaic::Link> out;
  for (const mosaic::Link& link : links) {
    const auto minutes = minutes_apart(panels[link.first], panels[link.second]);
    if (!minutes || *minutes >= kStillMinutes) out.push_back({link.first, link.second, {}});
  }
  return out;
}

std::string span_text(double minutes) {
  if (minutes < kFewHours * kMinutesAnHour) return counted(std::lround(minutes), "minute");
  if (minutes < kFewHours * kMinutesADay)
    return fmt::format("{:.1f} hours", minutes / kMinutesAnHour);
  return fmt::format("{:.0f} days", minutes / kMinutesADay);
}

std::vector<std::string> moved_notes(const std::vector<PanelInput>& panels,
                                     const mosaic::MovedLight& moved) {
  const auto overlaps = by_share(moved);
  if (overlaps.empty()) return {};
  const std::size_t told = std::min(overlaps.size(), kMostOverlaps);
  std::vector<std::string> pairs;
  for (std::size_t i = 0; i < told; ++i) {
    const PanelInput& first = panels[overlaps[i].first];
    const PanelInput& second = panels[overlaps[i].second];
    const auto minutes = minutes_apart(first, second);
    pairs.push_back(fmt::format(
        "'{}' and '{}' ({}{:.1f}% of what both show)", first.path, second.path,
        minutes ? span_text(*minutes) + " apart, " : std::string(), 100 * overlaps[i].share));
  }
  if (told < overlaps.size())
    pairs.push_back(
        fmt::format("{} more", counted(static_cast<std::int64_t>(overlaps.size() - told), "pair")));
  return {fmt::format(
      "shadows moved between panels, so only one panel is shown there: {}. Record neighbours "
      "at the terminator soon after one another",
      fmt::join(pairs, "; "))};
}

nlohmann::json moved_json(const std::vector<PanelInput>& panels, const mosaic::MovedLight& moved) {
  nlohmann::json out = nlohmann::json::array();
  for (const mosaic::MovedOverlap& overlap : moved.overlaps) {
    const auto minutes = minutes_apart(panels[overlap.first], panels[overlap.second]);
    out.push_back({{"first", files::name_text(panels[overlap.first].path)},
                   {"second", files::name_text(panels[overlap.second].path)},
                   {"share", overlap.share},
                   {"minutes_apart", minutes ? nlohmann::json(*minutes) : nlohmann::json()}});
  }
  return out;
}

}  // namespace lull::run
