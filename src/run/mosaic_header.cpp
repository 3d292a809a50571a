#include "run/mosaic_header.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>

#include "core/utc.h"
#include "files/name_text.h"
#include "run/resolution.h"
#include "run/stack_header.h"

namespace lull::run {

namespace {

void add_sum(const std::vector<PanelInput>& panels, const mosaic::Layout& layout, const char* key,
             const char* comment, std::vector<files::Card>& cards) {
  std::int64_t sum = 0;
  for (const mosaic::PanelIndex panel : layout.group) {
    const auto* value = find_card<std::int64_t>(panels[panel].cards, key);
    if (value == nullptr) return;
    sum += *value;
  }
  cards.push_back({key, sum, comment});
}

// What all of them say alike.
template <class T>
void add_common(const std::vector<PanelInput>& panels, const mosaic::Layout& layout,
                const char* key, std::vector<files::Card>& cards) {
  const std::vector<files::Card>& first = panels[layout.group.front()].cards;
  const T* value = find_card<T>(first, key);
  if (value == nullptr) return;
  for (const mosaic::PanelIndex panel : layout.group) {
    const T* other = find_card<T>(panels[panel].cards, key);
    if (other == nullptr || *other != *value) return;
  }
  const auto card = std::find_if(first.begin(), first.end(),
                                 [key](const files::Card& c) { return c.key == key; });
  cards.push_back(*card);
}

std::vector<Utc> moments(const std::vector<PanelInput>& panels, const mosaic::Layout& layout,
                         const char* key) {
  std::vector<Utc> out;
  for (const mosaic::PanelIndex panel : layout.group) {
    if (const auto moment = moment_in(panels[panel].cards, key)) out.push_back(*moment);
  }
  return out;
}

void add_times(const std::vector<PanelInput>& panels, const mosaic::Layout& layout,
               std::vector<files::Card>& cards) {
  const std::vector<Utc> begins = moments(panels, layout, "DATE-OBS");
  const std::vector<Utc> ends = moments(panels, layout, "DATE-END");
  if (begins.size() != layout.group.size() || ends.size() != begins.size()) return;
  cards.push_back({"TIMESYS", std::string("UTC"), "time scale of the dates"});
  cards.push_back({"DATE-OBS", iso8601(*std::min_element(begins.begin(), begins.end())),
                   "first of the panels"});
  cards.push_back(
      {"DATE-END", iso8601(*std::max_element(ends.begin(), ends.end())), "last of the panels"});
}

nlohmann::json panel_json(const PanelInput& panel, const mosaic::Layout& layout,
                          mosaic::PanelIndex at) {
  const mosaic::PanelMap& map = layout.maps[at];
  nlohmann::json light = nlohmann::json::array();
  for (const auto& channel : layout.brightness)
    light.push_back({{"gain", channel[at].gain}, {"offset", channel[at].offset}});
  return {{"panel", files::name_text(panel.path)},
          {"middle_px", {map.middle.real(), map.middle.imag()}},
          {"turn_deg", map.turn_deg()},
          {"scale", map.scale()},
          {"bent_rms_px", map.bend.rms_px()},
          {"resolution_px", panel.resolution_px ? nlohmann::json(*panel.resolution_px * map.scale())
                                                : nlohmann::json()},
          {"light", light}};
}

nlohmann::json links_json(const std::vector<PanelInput>& panels, const mosaic::Layout& layout) {
  nlohmann::json out = nlohmann::json::array();
  for (const mosaic::Link& link : layout.links)
    out.push_back({{"first", files::name_text(panels[link.first].path)},
                   {"second", files::name_text(panels[link.second].path)},
                   {"places", link.ties.size()}});
  return out;
}

}  // namespace

std::vector<files::Card> mosaic_cards(const std::vector<PanelInput>& panels,
                                      const mosaic::Layout& layout) {
  std::vector<files::Card> cards;
  cards.push_back({"MOSAIC", static_cast<std::int64_t>(layout.group.size()), "panels joined"});
  add_sum(panels, layout, "NFRAMES", "frames in the captures", cards);
  add_sum(panels, layout, "NUSABLE", "frames that can be used", cards);
  add_sum(panels, layout, "NKEPT", "frames in the stacks", cards);
  add_common<double>(panels, layout, "SCALE", cards);
  add_common<std::string>(panels, layout, "OBJECT", cards);
  add_common<double>(panels, layout, "APERTURE", cards);
  add_common<double>(panels, layout, "PIXSCALE", cards);
  add_times(panels, layout, cards);
  return cards;
}

nlohmann::json mosaic_figures(const std::vector<PanelInput>& panels, const mosaic::Layout& layout,
                              double covered, const spectrum::FrcCurve& frc) {
  nlohmann::json out;
  out["size_px"] = {layout.mosaic.width_px, layout.mosaic.height_px};
  out["covered"] = covered;
  out["panels"] = nlohmann::json::array();
  for (const mosaic::PanelIndex panel : layout.group)
    out["panels"].push_back(panel_json(panels[panel], layout, panel));
  out["overlaps"] = links_json(panels, layout);
  out["distortion"] = layout.maps[layout.group.front()].distortion;
  out["vignetting"] = nlohmann::json::array();
  for (const auto& channel : layout.brightness) {
    const mosaic::Brightness& light = channel[layout.group.front()];
    out["vignetting"].push_back({light.near, light.far});
  }
  out["rigid_rms_px"] = layout.rigid_rms_px;
  out["bent_rms_px"] = layout.bent_rms_px;
  const auto resolution = resolution_of(frc, std::nullopt);
  out["resolution_px"] = resolution ? nlohmann::json(resolution->period_px) : nlohmann::json();
  return out;
}

}  // namespace lull::run
