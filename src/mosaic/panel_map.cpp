#include "mosaic/panel_map.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "merge/similarity.h"

namespace lull::mosaic {

namespace {

using Complex = std::complex<double>;

constexpr int kInverseSteps = 5;
constexpr int kOutlineStepPx = 32;

Complex as_complex(Displacement d) { return {d.x_px, d.y_px}; }

Displacement as_displacement(Complex z) { return {z.real(), z.imag()}; }

}  // namespace

Bend::Bend(Size panel)
    : columns_((panel.width_px - 1 + kNodePx - 1) / kNodePx + 1),
      rows_((panel.height_px - 1 + kNodePx - 1) / kNodePx + 1) {
  nodes.resize(static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_));
}

Bend::Corners Bend::corners(Displacement place) const {
  const auto split = [](double px, int count, int& node) {
    const double at = std::clamp(px / kNodePx, 0.0, static_cast<double>(count - 1));
    node = std::min(static_cast<int>(at), std::max(0, count - 2));
    return at - node;
  };
  int column = 0;
  int row = 0;
  const double right = split(place.x_px, columns_, column);
  const double down = split(place.y_px, rows_, row);
  const auto node = [&](int c, int r) {
    return static_cast<std::size_t>(std::min(r, rows_ - 1)) * static_cast<std::size_t>(columns_) +
           static_cast<std::size_t>(std::min(c, columns_ - 1));
  };
  return {
      {node(column, row), node(column + 1, row), node(column, row + 1), node(column + 1, row + 1)},
      {(1 - right) * (1 - down), right * (1 - down), (1 - right) * down, right * down}};
}

Displacement Bend::at(Displacement place) const {
  if (nodes.empty()) return {};
  const Corners around = corners(place);
  Displacement out;
  for (int i = 0; i < 4; ++i) {
    out.x_px += around.share[i] * nodes[around.node[i]].x_px;
    out.y_px += around.share[i] * nodes[around.node[i]].y_px;
  }
  return out;
}

double Bend::rms_px() const {
  if (nodes.empty()) return 0;
  double sum = 0;
  for (const Displacement& node : nodes) sum += node.x_px * node.x_px + node.y_px * node.y_px;
  return std::sqrt(sum / static_cast<double>(nodes.size()));
}

Complex PanelMap::from_middle(Displacement place) const {
  return as_complex(place - merge::middle_of(panel));
}

Complex PanelMap::lens(Displacement place) const {
  return from_middle(place) * (1 + distortion * radius2(place)) + as_complex(bend.at(place));
}

double PanelMap::radius2(Displacement place) const {
  return std::norm(from_middle(place)) /
         std::max(1.0, std::norm(as_complex(merge::middle_of(panel))));
}

Displacement PanelMap::to_mosaic(Displacement place) const {
  return as_displacement(factor * lens(place) + middle);
}

Displacement PanelMap::to_panel(Displacement place) const {
  const Complex middle_px = as_complex(merge::middle_of(panel));
  const Complex seen = (as_complex(place) - middle) / factor;
  Complex at = seen + middle_px;
  if (distortion == 0 && bend.nodes.empty()) return as_displacement(at);
  for (int i = 0; i < kInverseSteps; ++i) {
    const Displacement now = as_displacement(at);
    at = middle_px + (seen - as_complex(bend.at(now))) / (1 + distortion * radius2(now));
  }
  return as_displacement(at);
}

double PanelMap::turn_deg() const { return std::arg(factor) * 180 / std::numbers::pi; }

bool is_inside(Size panel, Displacement place, double margin_px) {
  return place.x_px >= margin_px && place.y_px >= margin_px &&
         place.x_px <= panel.width_px - 1 - margin_px &&
         place.y_px <= panel.height_px - 1 - margin_px;
}

Box outline(const PanelMap& map) {
  constexpr double kFar = std::numeric_limits<double>::infinity();
  double left = kFar;
  double top = kFar;
  double right = -kFar;
  double bottom = -kFar;
  const auto visit = [&](double x, double y) {
    const Displacement at = map.to_mosaic({x, y});
    left = std::min(left, at.x_px);
    right = std::max(right, at.x_px);
    top = std::min(top, at.y_px);
    bottom = std::max(bottom, at.y_px);
  };
  const int w = map.panel.width_px - 1;
  const int h = map.panel.height_px - 1;
  for (int x = 0; x <= w + kOutlineStepPx; x += kOutlineStepPx) {
    visit(std::min(x, w), 0);
    visit(std::min(x, w), h);
  }
  for (int y = 0; y <= h + kOutlineStepPx; y += kOutlineStepPx) {
    visit(0, std::min(y, h));
    visit(w, std::min(y, h));
  }
  return {static_cast<int>(std::floor(left)), static_cast<int>(std::floor(top)),
          static_cast<int>(std::ceil(right)) + 1, static_cast<int>(std::ceil(bottom)) + 1};
}

}  // namespace lull::mosaic
