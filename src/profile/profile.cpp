#include "profile/profile.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <numbers>
#include <string_view>

namespace lull::profile {

namespace {

std::string lower(std::string text) {
  for (char& c : text) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return text;
}

}  // namespace

const Filter* Profile::filter(const std::string& wanted) const {
  const auto is_wanted = [&](const std::string& word) { return lower(word) == lower(wanted); };
  const auto found = std::find_if(filters.begin(), filters.end(), [&](const Filter& one) {
    return is_wanted(one.name) || std::any_of(one.words.begin(), one.words.end(), is_wanted);
  });
  return found == filters.end() ? nullptr : &*found;
}

std::vector<OptionSetting> Profile::options_for(const std::string& target) const {
  std::vector<OptionSetting> out;
  const auto add = [&](const std::string& wanted) {
    for (const TargetOptions& one : options) {
      if (one.target == wanted) out.insert(out.end(), one.options.begin(), one.options.end());
    }
  };
  constexpr std::array<std::string_view, 7> kPlanets = {"mercury", "venus",  "mars",   "jupiter",
                                                        "saturn",  "uranus", "neptune"};
  add("all");
  if (std::find(kPlanets.begin(), kPlanets.end(), target) != kPlanets.end()) add("planet");
  if (target != "all") add(target);
  return out;
}

std::optional<double> scale_arcsec_per_px(const Profile& profile) {
  if (!profile.optics || !profile.camera) return std::nullopt;
  constexpr double kArcsecPerRadian = 180 * 3600 / std::numbers::pi;
  constexpr double kMmPerUm = 1e-3;
  return kArcsecPerRadian * profile.camera->pixel_um * kMmPerUm / profile.optics->focal_length_mm;
}

const std::vector<std::string>& target_words() {
  static const std::vector<std::string> words = {"sun",    "moon",    "planet",  "mercury",
                                                 "venus",  "mars",    "jupiter", "saturn",
                                                 "uranus", "neptune", "star"};
  return words;
}

}  // namespace lull::profile
