#include "mosaic/panels.h"

#include <cmath>
#include <numbers>
#include <utility>

#include "merge/detail.h"
#include "support/scene.h"

namespace lull::test {

Plane rough_ground(Size size, std::uint32_t seed) {
  Plane white(size);
  add_noise(white.view(), 1, seed);
  const Plane fine = merge::blurred(white.view(), 1.2);
  const Plane coarse = merge::blurred(white.view(), 6);
  Plane out(size);
  for (int y = 0; y < size.height_px; ++y)
    for (int x = 0; x < size.width_px; ++x)
      out.row(y)[x] = 0.5F + 0.15F * fine.row(y)[x] + 0.9F * coarse.row(y)[x];
  return out;
}

Plane seen_by(const mosaic::PanelMap& map, const align::SplinePlane& ground) {
  Plane out(map.panel);
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) {
      const Displacement at = map.to_mosaic({static_cast<double>(x), static_cast<double>(y)});
      out.row(y)[x] = ground.at(at.x_px, at.y_px);
    }
  }
  return out;
}

mosaic::PanelMap upright(Size panel, double left_px, double top_px) {
  mosaic::PanelMap map;
  map.panel = panel;
  map.middle = {left_px + 0.5 * (panel.width_px - 1), top_px + 0.5 * (panel.height_px - 1)};
  return map;
}

mosaic::PanelMap turned(mosaic::PanelMap map, double degrees, double scale) {
  map.factor = std::polar(scale, degrees * std::numbers::pi / 180);
  return map;
}

void bend_in_waves(mosaic::PanelMap& map, double amplitude_px, double phase_rad, double length_px) {
  map.bend = mosaic::Bend(map.panel);
  for (int r = 0; r < map.bend.rows(); ++r) {
    for (int c = 0; c < map.bend.columns(); ++c) {
      const double at = 2 * std::numbers::pi * (c + 0.7 * r) * mosaic::Bend::kNodePx / length_px;
      map.bend.nodes[static_cast<std::size_t>(r * map.bend.columns() + c)] = {
          amplitude_px * std::sin(at + phase_rad),
          0.85 * amplitude_px * std::cos(at + 2 * phase_rad)};
    }
  }
}

mosaic::PanelPicture gray(Plane light) {
  mosaic::PanelPicture out;
  out.push_back({std::move(light), Plane()});
  return out;
}

double apart_px(const mosaic::PanelMap& one, const mosaic::PanelMap& other) {
  double sum_x = 0;
  double sum_y = 0;
  double squares = 0;
  int count = 0;
  for (int y = 0; y < one.panel.height_px; y += 20) {
    for (int x = 0; x < one.panel.width_px; x += 20) {
      const Displacement place{static_cast<double>(x), static_cast<double>(y)};
      const Displacement d = one.to_mosaic(place) - other.to_mosaic(place);
      sum_x += d.x_px;
      sum_y += d.y_px;
      squares += d.x_px * d.x_px + d.y_px * d.y_px;
      ++count;
    }
  }
  const double mean = (sum_x * sum_x + sum_y * sum_y) / count;
  return std::sqrt((squares - mean) / count);
}

}  // namespace lull::test
