#include "mosaic/gradient_ties.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/parallel.h"
#include "core/statistics.h"
#include "mosaic/gradient_cell.h"
#include "mosaic/part_detail.h"
#include "mosaic/places.h"

namespace lull::mosaic {

namespace {

constexpr int kTilePx = 128;     // parts of an overlap that are compared at a time
constexpr int kApronPx = 20;     // of detail around a tile
constexpr double kMarginPx = 6;  // from a panel's edges, where detail misses its surroundings
constexpr double kLeastErrorPx = 0.03;
constexpr Size kPart{kTilePx + 2 * kApronPx, kTilePx + 2 * kApronPx};

// Detail between two Gaussian blurs of these standard deviations, and the side of a cell.
struct Grain {
  double fine_px;
  double coarse_px;  // coarser detail differs by blur and light
  int cell_px;

  // Differences stay alike over so many px: the area of the finer blur squared, 4 pi sigma^2, for
  // white noise, and twice that where panels differ by their blur.
  [[nodiscard]] double alike_px2() const { return 2 * 4 * std::numbers::pi * fine_px * fine_px; }
};

constexpr Grain kFine{1.5, 4, 16};
// What poor air leaves, of the Sun's ground as a rule.
constexpr Grain kCoarse{3, 8, 32};

// A part of the mosaic as a panel shows it.
struct Part {
  Plane light;
  Plane inside;  ///< 1 where the panel shows it
};

Part part_of(const Readable& panel, const PanelMap& map, Displacement origin) {
  const Places places(map, origin, kPart);
  Part out{Plane(kPart), Plane(kPart)};
  std::vector<Displacement> row(static_cast<std::size_t>(kPart.width_px));
  for (int y = 0; y < kPart.height_px; ++y) {
    places.row(y, row);
    panel.luminance.read(row, out.light.row(y));
    std::transform(row.begin(), row.end(), out.inside.row(y), [&](Displacement at) {
      return is_inside(panel.size, at, kMarginPx) ? 1.0F : 0.0F;
    });
  }
  return out;
}

Plane shown_by_both(const Part& first, const Part& second) {
  Plane both(kPart);
  for (int y = 0; y < both.height(); ++y)
    for (int x = 0; x < both.width(); ++x)
      both.row(y)[x] = first.inside.row(y)[x] * second.inside.row(y)[x];
  return both;
}

// Mean square of detail where both are shown, within the apron.
double power_of(const Plane& detail, const Plane& both) {
  double sum = 0;
  for (int y = kApronPx; y < kApronPx + kTilePx; ++y)
    for (int x = kApronPx; x < kApronPx + kTilePx; ++x)
      sum += static_cast<double>(both.row(y)[x] * detail.row(y)[x] * detail.row(y)[x]);
  return sum;
}

struct PlacedCell {
  GradientCell sums;
  Displacement middle;  ///< in the mosaic
};

// Cells of a tile that both panels show, and in which they show the same.
// @param a,b  detail of both panels, of that grain.
std::vector<PlacedCell> cells_of(Plane a, Plane b, const Plane& both, const Grain& grain,
                                 Displacement origin) {
  const double of_first = power_of(a, both);
  const double of_second = power_of(b, both);
  if (of_first <= 0 || of_second <= 0) return {};
  // One contrast for both: gain and blur differ.
  const double ratio = std::pow(of_second / of_first, 0.25);
  scale(a.view(), static_cast<float>(ratio));
  scale(b.view(), static_cast<float>(1 / ratio));
  std::vector<PlacedCell> out;
  const double to_middle = 0.5 * (grain.cell_px - 1);
  for (int top = kApronPx; top < kApronPx + kTilePx; top += grain.cell_px) {
    for (int left = kApronPx; left < kApronPx + kTilePx; left += grain.cell_px) {
      const GradientCell sums(a, b, both, left, top, grain.cell_px);
      if (!sums.is_shown() || !sums.is_common()) continue;
      out.push_back({sums, origin + Displacement{left + to_middle, top + to_middle}});
    }
  }
  return out;
}

// What displacement and blur do not explain tells how much the two differ: in a cell, whose few
// samples may agree by chance, and in half of the cells around it. The limb's blur, which differs
// most, says nothing of the ground beside it.
std::vector<double> variances_of(const std::vector<PlacedCell>& cells) {
  std::vector<double> out;
  out.reserve(cells.size());
  for (const PlacedCell& cell : cells) out.push_back(cell.sums.variance());
  if (out.empty()) return out;
  const double usual = upper_median(std::vector<double>(out));
  for (double& variance : out) variance = std::max(variance, usual);
  return out;
}

// What is needed while a tile is compared.
struct Workspace {
  PartDetail first{kPart};
  PartDetail second{kPart};
};

// Ties of a tile, coarse ones before fine ones.
std::vector<Tie> ties_of_tile(const Readable& first, const PanelMap& first_map,
                              const Readable& second, const PanelMap& second_map, Grains grains,
                              Displacement origin, Workspace& workspace) {
  const Part a = part_of(first, first_map, origin);
  const Part b = part_of(second, second_map, origin);
  const Plane both = shown_by_both(a, b);
  workspace.first.show(a.light.view());
  workspace.second.show(b.light.view());
  std::vector<Tie> out;
  for (const Grain& grain : {kCoarse, kFine}) {
    const std::vector<PlacedCell> cells =
        cells_of(workspace.first.between(grain.fine_px, grain.coarse_px),
                 workspace.second.between(grain.fine_px, grain.coarse_px), both, grain, origin);
    const std::vector<double> variances = variances_of(cells);
    for (std::size_t i = 0; i < cells.size(); ++i) {
      if (variances[i] <= 0) continue;
      const GradientCell& sums = cells[i].sums;
      const Information raw = sums.gradients() * (1 / (variances[i] * grain.alike_px2()));
      out.push_back({first_map.to_panel(cells[i].middle),
                     second_map.to_panel(cells[i].middle + sums.off()),
                     raw * (1 / (1 + raw.mean() * kLeastErrorPx * kLeastErrorPx))});
    }
    if (grains == Grains::coarse) break;
  }
  return out;
}

}  // namespace

std::vector<Tie> gradient_ties(const Readable& first, const PanelMap& first_map,
                               const Readable& second, const PanelMap& second_map, Grains grains) {
  const Box box = outline(first_map).intersection(outline(second_map));
  std::vector<Displacement> tiles;
  for (int y = box.y0; y < box.y1; y += kTilePx)
    for (int x = box.x0; x < box.x1; x += kTilePx)
      tiles.push_back({static_cast<double>(x - kApronPx), static_cast<double>(y - kApronPx)});
  std::vector<std::vector<Tie>> found(tiles.size());
  constexpr std::size_t kBlock = 8;  // one workspace each
  const auto blocks = static_cast<std::int64_t>((tiles.size() + kBlock - 1) / kBlock);
  parallel_for(blocks, [&](std::int64_t block) {
    Workspace workspace;
    const std::size_t from = static_cast<std::size_t>(block) * kBlock;
    for (std::size_t i = from; i < std::min(from + kBlock, tiles.size()); ++i)
      found[i] = ties_of_tile(first, first_map, second, second_map, grains, tiles[i], workspace);
  });
  std::vector<Tie> out;
  for (const auto& some : found) out.insert(out.end(), some.begin(), some.end());
  return out;
}

}  // namespace lull::mosaic
