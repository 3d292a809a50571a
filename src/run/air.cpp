#include "run/air.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

namespace lull::run {

namespace {

constexpr double kGood = 3;
constexpr double kPoor = 7;

}  // namespace

std::string Air::quality() const {
  if (turbulence.d_over_r0 < kGood) return "good";
  return turbulence.d_over_r0 > kPoor ? "poor" : "fair";
}

std::string Air::text() const {
  return fmt::format(
      "{} air for this aperture: below {:.0f} is good, above {:.0f} poor; Fried's r0 was {:.0f} mm "
      "at {:.0f} nm",
      quality(), kGood, kPoor, r0_mm(), optics.wavelength_nm);
}

std::optional<Air> air_of(const std::optional<health::TurbulenceProbe>& probe,
                          const std::optional<health::Optics>& optics) {
  if (!probe || !optics) return std::nullopt;
  auto turbulence = probe->result();
  if (!turbulence) return std::nullopt;
  return Air{std::move(*turbulence), *optics};
}

nlohmann::json to_json(const std::optional<Air>& air) {
  if (!air) return nullptr;
  nlohmann::json rings = nlohmann::json::array();
  for (const health::Coherence& ring : air->turbulence.rings)
    rings.push_back({{"cutoff_share", ring.q}, {"coherence", ring.ratio}});
  return {{"d_over_r0", air->turbulence.d_over_r0},
          {"r0_mm", air->r0_mm()},
          {"quality", air->quality()},
          {"frames", air->turbulence.frames},
          {"coherence", rings}};
}

std::vector<files::Card> air_cards(const std::optional<Air>& air) {
  if (!air) return {};
  return {{"DOVERR0", air->turbulence.d_over_r0, "aperture over Fried's r0, frames unselected"},
          {"R0", air->r0_mm(), "[mm] Fried's parameter at the wavelength told"}};
}

}  // namespace lull::run
