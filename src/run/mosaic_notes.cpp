#include "run/mosaic_notes.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <limits>
#include <optional>
#include <utility>

#include "core/statistics.h"
#include "run/stack_header.h"

namespace lull::run {

namespace {

constexpr double kOtherScale = 0.05;   // relative; focus and refraction change less
constexpr double kMuchBlur = 2;        // gain of a panel that is far less sharp than the others
constexpr double kCoarse = 1.5;        // times the usual period of what is resolved
constexpr std::size_t kMostHoles = 5;  // that are told
constexpr double kArcsecInArcmin = 60;

void note_scales(const std::vector<PanelInput>& panels, const mosaic::Layout& layout,
                 std::vector<std::string>& notes) {
  std::vector<double> scales;
  for (const mosaic::PanelIndex panel : layout.group) scales.push_back(layout.maps[panel].scale());
  const double usual = median(std::move(scales));
  for (const mosaic::PanelIndex panel : layout.group) {
    const double relative = layout.maps[panel].scale() / usual;
    if (std::abs(relative - 1) < kOtherScale) continue;
    notes.push_back(fmt::format(
        "'{}' has another scale than the others, {:.2f} px of the mosaic for one of its "
        "own: its detail is coarser or finer. Record all panels through the same optics",
        panels[panel].path, layout.maps[panel].scale()));
  }
}

void note_blurs(const std::vector<PanelInput>& panels, const mosaic::Layout& layout,
                const std::vector<std::optional<double>>& resolution_px,
                std::vector<std::string>& notes) {
  std::vector<double> periods;
  for (const mosaic::PanelIndex panel : layout.group)
    if (resolution_px[panel]) periods.push_back(*resolution_px[panel]);
  const double usual = periods.empty() ? 0 : median(std::move(periods));
  for (const mosaic::PanelIndex panel : layout.group) {
    const auto& gains = layout.gains[panel];
    const auto& period = resolution_px[panel];
    const bool blurred = std::any_of(gains.begin(), gains.end(),
                                     [](const auto& point) { return point.gain >= kMuchBlur; });
    const bool coarse = period && *period >= kCoarse * usual;
    if (!blurred && !coarse) continue;
    notes.push_back(fmt::format(
        "'{}' is much less sharp than {}, by air or focus{}; record it again where its detail "
        "matters",
        panels[panel].path, blurred ? "its neighbours" : "the others",
        coarse
            ? fmt::format(": it resolves {:.1f} px, the others {:.1f} px as a rule", *period, usual)
            : std::string()));
  }
}

void note_thin_overlaps(const std::vector<PanelInput>& panels, const mosaic::Layout& layout,
                        std::vector<std::string>& notes) {
  for (const mosaic::PanelIndex panel : layout.group) {
    std::size_t links = 0;
    std::size_t places = 0;
    for (const mosaic::Link& link : layout.links) {
      if (link.first != panel && link.second != panel) continue;
      ++links;
      places += link.ties.size();
    }
    if (links != 1 || places >= mosaic::kFewTies) continue;
    notes.push_back(
        fmt::format("'{}' hangs by one overlap with detail at {} places: its own place is not "
                    "certain. Let neighbours share a fifth of their width",
                    panels[panel].path, places));
  }
}

// "120 px (1.4') to the right of and 40 px (0.5') above the middle of 'moon_3.linear.fits'"; angles
// where its stack states them.
std::string where(Displacement place, const std::vector<PanelInput>& panels,
                  const mosaic::Layout& layout) {
  double nearest = std::numeric_limits<double>::infinity();
  mosaic::PanelIndex best = layout.group.front();
  for (const mosaic::PanelIndex panel : layout.group) {
    const double far =
        std::abs(layout.maps[panel].middle - std::complex<double>(place.x_px, place.y_px));
    if (far >= nearest) continue;
    nearest = far;
    best = panel;
  }
  const double right = place.x_px - layout.maps[best].middle.real();
  const double below = place.y_px - layout.maps[best].middle.imag();
  const auto arcsec = arcsec_per_px(panels[best].cards);
  const auto length = [&](double px) {
    const double own_px = std::abs(px) / layout.maps[best].scale();
    return !arcsec ? fmt::format("{:.0f} px", std::abs(px))
                   : fmt::format("{:.0f} px ({:.1f}')", std::abs(px),
                                 own_px * *arcsec / kArcsecInArcmin);
  };
  return fmt::format("{} to the {} of and {} {} the middle of '{}'", length(right),
                     right < 0 ? "left" : "right", length(below), below < 0 ? "above" : "below",
                     panels[best].path);
}

void note_holes(const std::vector<PanelInput>& panels, const mosaic::Layout& layout,
                const std::vector<mosaic::Hole>& holes, std::vector<std::string>& notes) {
  const std::size_t told = std::min(holes.size(), kMostHoles);
  for (std::size_t i = 0; i < told; ++i) {
    const mosaic::Hole& hole = holes[i];
    notes.push_back(
        fmt::format("a hole of {} x {} px that no panel shows: point the telescope {}, as the "
                    "mosaic stands",
                    hole.box.width_px(), hole.box.height_px(), where(hole.middle, panels, layout)));
  }
  if (told < holes.size())
    notes.push_back(fmt::format("{} smaller holes besides", holes.size() - told));
}

// "'a.png', 'b.png' and 3 more"
std::string names_of(const std::vector<std::string>& paths) {
  constexpr std::size_t kNamed = 2;
  std::string text = fmt::format("'{}'", paths.front());
  if (paths.size() > 1) text += fmt::format(", '{}'", paths[1]);
  if (paths.size() > kNamed) text += fmt::format(" and {} more", paths.size() - kNamed);
  return text;
}

// Of pictures that are no linear stacks. The same words once, with all panels that they are about.
void note_warnings(const std::vector<PanelInput>& panels, const mosaic::Layout& layout,
                   std::vector<std::string>& notes) {
  std::vector<std::pair<std::string, std::vector<std::string>>> found;
  for (const mosaic::PanelIndex panel : layout.group) {
    for (const std::string& warning : panels[panel].warnings) {
      const auto same = std::find_if(found.begin(), found.end(),
                                     [&](const auto& other) { return other.first == warning; });
      if (same != found.end())
        same->second.push_back(panels[panel].path);
      else
        found.push_back({warning, {panels[panel].path}});
    }
  }
  for (const auto& [warning, paths] : found)
    notes.push_back(fmt::format("{}: {}", names_of(paths), warning));
}

}  // namespace

std::vector<std::string> mosaic_notes(const std::vector<PanelInput>& panels,
                                      const mosaic::Layout& layout,
                                      const std::vector<std::optional<double>>& resolution_px,
                                      const std::vector<mosaic::Hole>& holes) {
  std::vector<std::string> notes;
  note_warnings(panels, layout, notes);
  note_scales(panels, layout, notes);
  note_blurs(panels, layout, resolution_px, notes);
  note_thin_overlaps(panels, layout, notes);
  note_holes(panels, layout, holes, notes);
  return notes;
}

}  // namespace lull::run
