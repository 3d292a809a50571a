#include "lab/mosaic_panel.h"

#include <algorithm>
#include <cmath>

#include "align/spline_plane.h"
#include "lab/random.h"

namespace lull::lab {

namespace {

constexpr int kAroundPx = 48;  // of scene around what a panel shows

// Of a short exposure. @param share  of the telescope's cutoff.
double air_transfer(double share, double d_over_r0) {
  return std::exp(-3.44 * std::pow(d_over_r0 * share, 5.0 / 3) * (1 - std::cbrt(share)));
}

std::vector<int> nodes(int side, int step, int margin) {
  std::vector<int> out;
  for (int i = -margin; i < side + margin - 1; i += step) out.push_back(i);
  out.push_back(side + margin - 1);
  return out;
}

// Gain, vignetting, offset, and the noise of two half stacks.
void expose(const MosaicParameters& p, const PanelPlan& plan, PanelStack& stack) {
  const Size size = stack.light.size();
  const double corner = 0.5 * std::hypot(size.width_px, size.height_px);
  stack.noise = Plane(size);
  for (int y = 0; y < size.height_px; ++y) {
    Random random({p.seed, key_of(Draw::noise), static_cast<std::uint64_t>(plan.number),
                   static_cast<std::uint64_t>(y)});
    float* light = stack.light.row(y);
    float* noise = stack.noise.row(y);
    for (int x = 0; x < size.width_px; ++x) {
      const double r =
          std::hypot(x - 0.5 * (size.width_px - 1), y - 0.5 * (size.height_px - 1)) / corner;
      const double level = kPanelLevel * plan.gain * (1 - p.vignetting * r * r) *
                           std::max(static_cast<double>(light[x]), 0.0);
      const double spread = plan.noise *
                            std::sqrt(kDarkPanelNoise * kDarkPanelNoise + level / kPanelLevel) *
                            std::sqrt(2.0);
      const double first = spread * random.normal();
      const double second = spread * random.normal();
      light[x] = static_cast<float>(level + plan.offset + (first + second) / 2);
      noise[x] = static_cast<float>((first - second) / 2);
    }
  }
}

}  // namespace

PlaceGrid place_grid(const MosaicParameters& p, const PanelPlan& plan, const SceneDisc& disc,
                     int step_px, int margin_px) {
  PlaceGrid grid{nodes(p.panel.width_px, step_px, margin_px),
                 nodes(p.panel.height_px, step_px, margin_px),
                 {}};
  grid.places.reserve(grid.columns.size() * grid.rows.size());
  for (const int y : grid.rows) {
    for (const int x : grid.columns) {
      grid.places.push_back(
          scene_place(p, plan, disc, {static_cast<double>(x), static_cast<double>(y)}));
    }
  }
  return grid;
}

Box reach_of(const PlaceGrid& grid) {
  double x0 = 1e9;
  double y0 = 1e9;
  double x1 = -1e9;
  double y1 = -1e9;
  for (const Displacement& place : grid.places) {
    x0 = std::min(x0, place.x_px);
    y0 = std::min(y0, place.y_px);
    x1 = std::max(x1, place.x_px);
    y1 = std::max(y1, place.y_px);
  }
  return {static_cast<int>(x0) - kAroundPx, static_cast<int>(y0) - kAroundPx,
          static_cast<int>(x1) + kAroundPx + 1, static_cast<int>(y1) + kAroundPx + 1};
}

Box part_shown(const PlaceGrid& grid, Size scene) {
  return reach_of(grid).intersection({0, 0, scene.width_px, scene.height_px});
}

Plane seen(const PlaceGrid& grid, const Box& box, PlaneView picture) {
  const align::SplinePlane spline(picture);
  const int left = grid.columns.front();
  const int top = grid.rows.front();
  Plane out(grid.columns.back() - left + 1, grid.rows.back() - top + 1);
  const std::size_t columns = grid.columns.size();
  for (int y = top; y <= grid.rows.back(); ++y) {
    const auto j = std::min(static_cast<std::size_t>((y - top) / kNodePx), grid.rows.size() - 2);
    const double ty = static_cast<double>(y - grid.rows[j]) / (grid.rows[j + 1] - grid.rows[j]);
    for (int x = left; x <= grid.columns.back(); ++x) {
      const auto i = std::min(static_cast<std::size_t>((x - left) / kNodePx), columns - 2);
      const double tx =
          static_cast<double>(x - grid.columns[i]) / (grid.columns[i + 1] - grid.columns[i]);
      const Displacement* upper = &grid.places[j * columns + i];
      const Displacement* lower = upper + columns;
      const auto mix = [&](double Displacement::*part) {
        return (1 - ty) * ((1 - tx) * upper[0].*part + tx * upper[1].*part) +
               ty * ((1 - tx) * lower[0].*part + tx * lower[1].*part);
      };
      out.row(y - top)[x - left] =
          spline.at(mix(&Displacement::x_px) - box.x0, mix(&Displacement::y_px) - box.y0);
    }
  }
  return out;
}

PanelStack make_panel(const MosaicParameters& p, const PanelPlan& plan, const SceneDisc& disc,
                      const MosaicScene& scene, double brightest) {
  const PlaceGrid grid = place_grid(p, plan, disc, kNodePx);
  const Box part = part_shown(grid, scene.size());
  Plane blurred = scene.seen(part, plan.phase_deg,
                             [&](double share) { return air_transfer(share, plan.d_over_r0); });
  scale(blurred.view(), static_cast<float>(1 / brightest));
  PanelStack stack;
  stack.light = seen(grid, part, blurred.view());
  expose(p, plan, stack);
  const Plane first = weighted_sum(stack.light.view(), 1, stack.noise.view());
  const Plane second = weighted_sum(stack.light.view(), -1, stack.noise.view());
  stack.frc = spectrum::fourier_ring_correlation(first.view(), second.view());
  return stack;
}

}  // namespace lull::lab
