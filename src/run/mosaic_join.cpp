#include "run/mosaic_join.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/parallel.h"
#include "merge/match_blur.h"
#include "mosaic/blend.h"
#include "run/mosaic_file.h"

namespace lull::run {

namespace {

constexpr double kLeastHole = 0.002;      // of a panel's area
constexpr double kPlanesOfReading = 10;   // of each channel while a panel is made ready
constexpr std::size_t kPanelsOfTile = 6;  // that overlap at one place, at most as a rule
constexpr double kSheetsHeld = 2;         // at least

// Gains over frequencies of the mosaic, for a panel that has so many px for one of it.
std::vector<spectrum::FilterPoint> of_panel(std::vector<spectrum::FilterPoint> gains,
                                            double scale) {
  for (spectrum::FilterPoint& point : gains) point.frequency *= scale;
  return gains;
}

mosaic::Sheet sheet_of(const PanelInput& panel, const std::vector<spectrum::FilterPoint>& gains) {
  mosaic::PanelPicture picture = read_panel(panel);
  std::vector<Plane*> planes;
  for (merge::Light& channel : picture) {
    planes.push_back(&channel.light);
    if (!channel.noise.empty()) planes.push_back(&channel.noise);
  }
  parallel_for(gains.empty() ? 0 : std::ssize(planes), [&](std::int64_t i) {
    Plane& plane = *planes[static_cast<std::size_t>(i)];
    plane = merge::through(std::as_const(plane).view(), gains);
  });
  mosaic::Sheet out;
  out.size = panel.size;
  for (const merge::Light& channel : picture) {
    mosaic::Sheet::Channel sheet{align::SplinePlane(channel.light.view()), {}, 0, 0};
    if (!channel.noise.empty()) sheet.noise.emplace_back(channel.noise.view());
    sheet.darkest = INFINITY;
    sheet.brightest = -INFINITY;
    for (int y = 0; y < channel.light.height(); ++y) {
      const float* row = channel.light.row(y);
      const auto [low, high] = std::minmax_element(row, row + channel.light.width());
      sheet.darkest = std::min(sheet.darkest, *low);
      sheet.brightest = std::max(sheet.brightest, *high);
    }
    out.channels.push_back(std::move(sheet));
  }
  return out;
}

double bytes_of(const mosaic::Sheet& sheet) {
  double planes = 0;
  for (const mosaic::Sheet::Channel& channel : sheet.channels)
    planes += 1.0 + static_cast<double>(channel.noise.size());
  return planes * sizeof(float) * static_cast<double>(sheet.size.area_px());
}

// Adds those that overlap none which are known; the largest come first.
void add_apart(const std::vector<mosaic::Hole>& more, std::vector<mosaic::Hole>& holes) {
  for (const mosaic::Hole& hole : more) {
    const bool known = std::any_of(holes.begin(), holes.end(), [&](const mosaic::Hole& other) {
      return !other.box.intersection(hole.box).empty();
    });
    if (!known) holes.push_back(hole);
  }
  std::stable_sort(holes.begin(), holes.end(), [](const mosaic::Hole& a, const mosaic::Hole& b) {
    return a.area_px > b.area_px;
  });
}

}  // namespace

JoinedMosaic join_panels(const std::filesystem::path& path, const mosaic::Layout& layout,
                         const mosaic::MovedLight& moved, const std::vector<PanelInput>& panels,
                         const std::vector<files::Card>& cards, double most_bytes,
                         const Progress& progress) {
  mosaic::Blending plan;
  plan.mosaic = layout.mosaic;
  plan.maps = layout.maps;
  plan.group = layout.group;
  plan.brightness = layout.brightness;
  plan.moved = moved;
  plan.channels = panels.front().channels;
  plan.has_halves = panels.front().has_halves;
  MosaicFile file(path, plan, cards);
  mosaic::Shelf<mosaic::Sheet> shelf(
      [&](mosaic::PanelIndex panel) {
        return sheet_of(panels[panel], of_panel(layout.gains[panel], layout.maps[panel].scale()));
      },
      bytes_of, most_bytes);
  mosaic::blend(
      plan, [&](mosaic::PanelIndex panel) { return shelf.take(panel); },
      [&](const mosaic::Tile& tile) { file.put(tile); }, progress);
  const auto panel_px = static_cast<double>(panels[layout.group.front()].size.area_px());
  JoinedMosaic out{file.coverage().share(), file.coverage().holes(kLeastHole * panel_px), {}};
  if (const auto limb = mosaic::limb_of(layout.limb, layout.maps)) {
    add_apart(mosaic::holes_in_disc(limb->curve, layout.maps, layout.group, kLeastHole * panel_px),
              out.holes);
  }
  finish::Measurements curves;
  if (plan.has_halves) {
    const PanelInput& typical = panels[mosaic::typical_panel(layout)];
    curves.frc = out.frc = file.frc();
    curves.ratio = typical.ratio;
    curves.sampling = typical.sampling;
  }
  file.commit(curves);
  return out;
}

double bytes_to_join(const std::vector<PanelInput>& panels) {
  double largest = 0;
  for (const PanelInput& panel : panels)
    largest = std::max(largest, static_cast<double>(panel.size.area_px()));
  const PanelInput& first = panels.front();
  const auto channels = static_cast<double>(first.channels);
  const double sheets = kSheetsHeld * channels * (first.has_halves ? 2 : 1);
  return largest * sizeof(float) * (sheets + kPlanesOfReading * channels) +
         mosaic::bytes_of_tile(first.channels, first.has_halves, kPanelsOfTile);
}

}  // namespace lull::run
