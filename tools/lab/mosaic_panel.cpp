#include "lab/mosaic_panel.h"

#include <algorithm>
#include <cmath>

#include "align/spline_plane.h"
#include "finish/telescope.h"
#include "lab/random.h"
#include "spectrum/radial_filter.h"

namespace lull::lab {

namespace {

constexpr int kNodePx = 8;        // places are found at so many px, and lie evenly between
constexpr int kBlurReachPx = 48;  // of scene around what a panel shows

std::vector<spectrum::FilterPoint> curve_of(double (*transfer)(double, double), double cutoff,
                                            double parameter) {
  constexpr int kPoints = 128;
  std::vector<spectrum::FilterPoint> curve;
  curve.reserve(kPoints + 1);
  for (int i = 0; i <= kPoints; ++i) {
    const double share = static_cast<double>(i) / kPoints;
    curve.push_back({share * cutoff, transfer(share, parameter)});
  }
  return curve;
}

// Of a short exposure. @param share  of the telescope's cutoff.
double air_transfer(double share, double d_over_r0) {
  return std::exp(-3.44 * std::pow(d_over_r0 * share, 5.0 / 3) * (1 - std::cbrt(share)));
}

std::vector<int> nodes(int side, int step) {
  std::vector<int> out;
  for (int i = 0; i < side - 1; i += step) out.push_back(i);
  out.push_back(side - 1);
  return out;
}

Box box_around(const PlaceGrid& grid, Size scene) {
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
  const Box box{static_cast<int>(x0) - kBlurReachPx, static_cast<int>(y0) - kBlurReachPx,
                static_cast<int>(x1) + kBlurReachPx + 1, static_cast<int>(y1) + kBlurReachPx + 1};
  return box.intersection({0, 0, scene.width_px, scene.height_px});
}

// What the panel shows of the scene, without anything of the camera.
Plane seen(const PlaceGrid& grid, Size panel, PlaneView scene,
           const std::vector<spectrum::FilterPoint>& air) {
  const Box box = box_around(grid, scene.size());
  const Plane blurred = spectrum::filtered(scene.crop(box), air);
  const align::SplinePlane spline(blurred.view());
  Plane out(panel);
  const std::size_t columns = grid.columns.size();
  for (int y = 0; y < panel.height_px; ++y) {
    const auto j = std::min(static_cast<std::size_t>(y / kNodePx), grid.rows.size() - 2);
    const double ty = static_cast<double>(y - grid.rows[j]) / (grid.rows[j + 1] - grid.rows[j]);
    for (int x = 0; x < panel.width_px; ++x) {
      const auto i = std::min(static_cast<std::size_t>(x / kNodePx), columns - 2);
      const double tx =
          static_cast<double>(x - grid.columns[i]) / (grid.columns[i + 1] - grid.columns[i]);
      const Displacement* upper = &grid.places[j * columns + i];
      const Displacement* lower = upper + columns;
      const auto mix = [&](double Displacement::*part) {
        return (1 - ty) * ((1 - tx) * upper[0].*part + tx * upper[1].*part) +
               ty * ((1 - tx) * lower[0].*part + tx * lower[1].*part);
      };
      out.row(y)[x] =
          spline.at(mix(&Displacement::x_px) - box.x0, mix(&Displacement::y_px) - box.y0);
    }
  }
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
      const double spread = p.noise *
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

PanelOptics optics_of(const MosaicParameters& p) {
  // Of lab/targets: wren for the Moon, plover for the Sun.
  return p.scene == "sun" ? PanelOptics{0.345, 0} : PanelOptics{0.334, 0.33};
}

Plane through_telescope(PlaneView scene, const PanelOptics& optics) {
  return spectrum::filtered(scene, curve_of(&finish::telescope_transfer,
                                            optics.cutoff_cycles_per_px, optics.obstruction));
}

PlaceGrid place_grid(const MosaicParameters& p, const PanelPlan& plan, const SceneDisc& disc,
                     int step_px) {
  PlaceGrid grid{nodes(p.panel.width_px, step_px), nodes(p.panel.height_px, step_px), {}};
  grid.places.reserve(grid.columns.size() * grid.rows.size());
  for (const int y : grid.rows) {
    for (const int x : grid.columns) {
      grid.places.push_back(
          scene_place(p, plan, disc, {static_cast<double>(x), static_cast<double>(y)}));
    }
  }
  return grid;
}

PanelStack make_panel(const MosaicParameters& p, const PanelPlan& plan, const SceneDisc& disc,
                      PlaneView scene, const PanelOptics& optics) {
  PanelStack stack;
  stack.light = seen(place_grid(p, plan, disc, kNodePx), p.panel, scene,
                     curve_of(&air_transfer, optics.cutoff_cycles_per_px, plan.d_over_r0));
  expose(p, plan, stack);
  const Plane first = weighted_sum(stack.light.view(), 1, stack.noise.view());
  const Plane second = weighted_sum(stack.light.view(), -1, stack.noise.view());
  stack.frc = spectrum::fourier_ring_correlation(first.view(), second.view());
  return stack;
}

}  // namespace lull::lab
