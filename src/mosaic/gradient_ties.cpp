#include "mosaic/gradient_ties.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/parallel.h"
#include "merge/detail.h"
#include "mosaic/places.h"

namespace lull::mosaic {

namespace {

constexpr int kTilePx = 128;     // parts of an overlap that are compared at a time
constexpr int kCellPx = 16;      // of a tie
constexpr double kFinePx = 1.5;  // detail between two Gaussian blurs of these standard deviations:
constexpr double kCoarsePx = 4;  // coarser detail differs by blur and light
constexpr int kApronPx = 10;     // of detail around a tile
constexpr double kMarginPx = 6;  // from a panel's edges, where detail misses its surroundings
constexpr double kMostPx = 3;    // of one step
constexpr double kLeastErrorPx = 0.03;
constexpr double kLeastAlike = 0.6;  // a correlation of 0.43 of both panels' gradients
constexpr double kDamping = 1e-3;    // of the gradients: keeps what has no detail where it is
// Differences stay alike over so many px: the area of the finer blur squared, 4 pi sigma^2, for
// white noise, and twice that where panels differ by their blur.
constexpr double kAlikePx2 = 2 * 4 * std::numbers::pi * kFinePx * kFinePx;

// A panel's detail on a part of the mosaic.
struct Part {
  Plane detail;
  Plane inside;  ///< 1 where the panel shows it
};

Part part_of(const Readable& panel, const PanelMap& map, Displacement origin, Size size) {
  const Places places(map, origin, size);
  Plane light(size);
  Part out{Plane(), Plane(size)};
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) {
      const Displacement at = places.at(x, y);
      light.row(y)[x] = panel.luminance.at(at.x_px, at.y_px);
      out.inside.row(y)[x] = is_inside(panel.size, at, kMarginPx) ? 1.0F : 0.0F;
    }
  }
  out.detail = merge::detail_of(light.view(), kFinePx, kCoarsePx);
  return out;
}

// Mean square of detail where both are shown, within the apron.
double power_of(const Part& part, const Plane& both) {
  double sum = 0;
  for (int y = kApronPx; y < kApronPx + kTilePx; ++y)
    for (int x = kApronPx; x < kApronPx + kTilePx; ++x)
      sum += static_cast<double>(both.row(y)[x] * part.detail.row(y)[x] * part.detail.row(y)[x]);
  return sum;
}

// Sums over a cell: of the gradients' products, of gradients times difference, of its square.
struct Cell {
  Displacement middle;  ///< in the mosaic
  Information gradients;
  Displacement pull;
  Displacement off;  ///< by which the second panel's content lies off
  double square = 0;
  double alike = 0;  ///< sum of one panel's gradients times the other's
  int count = 0;
};

Cell cell_of(const Plane& a, const Plane& b, const Plane& both, int left, int top) {
  Cell out;
  const auto at = [](const Plane& plane, int x, int y) {
    return static_cast<double>(plane.row(y)[x]);
  };
  for (int y = top; y < top + kCellPx; ++y) {
    for (int x = left; x < left + kCellPx; ++x) {
      if (both.row(y)[x] == 0) continue;
      const double ax = 0.5 * (at(a, x + 1, y) - at(a, x - 1, y));
      const double ay = 0.5 * (at(a, x, y + 1) - at(a, x, y - 1));
      const double bx = 0.5 * (at(b, x + 1, y) - at(b, x - 1, y));
      const double by = 0.5 * (at(b, x, y + 1) - at(b, x, y - 1));
      const double across = 0.5 * (ax + bx);
      const double down = 0.5 * (ay + by);
      const double off = at(a, x, y) - at(b, x, y);
      out.alike += ax * bx + ay * by;
      out.gradients.xx += across * across;
      out.gradients.xy += across * down;
      out.gradients.yy += down * down;
      out.pull.x_px += across * off;
      out.pull.y_px += down * off;
      out.square += off * off;
      ++out.count;
    }
  }
  return out;
}

// Whether both show the same: noise has gradients too, but others in each panel. Of gradients whose
// correlation is r, the product is 2 r / (1 + r) of the square of their mean.
bool is_common(const Cell& cell) {
  return cell.alike > kLeastAlike * (cell.gradients.xx + cell.gradients.yy);
}

Displacement moved(const Cell& cell) {
  const Information& g = cell.gradients;
  const double damping = kDamping * g.mean() + 1e-30;
  const double xx = g.xx + damping;
  const double yy = g.yy + damping;
  const double determinant = xx * yy - g.xy * g.xy;
  Displacement out{(yy * cell.pull.x_px - g.xy * cell.pull.y_px) / determinant,
                   (xx * cell.pull.y_px - g.xy * cell.pull.x_px) / determinant};
  const double far = std::hypot(out.x_px, out.y_px);
  if (far > kMostPx) out = {out.x_px * kMostPx / far, out.y_px * kMostPx / far};
  return out;
}

// Cells of a tile of which both panels show half or more.
std::vector<Cell> cells_of(const Plane& a, const Plane& b, const Plane& both, Displacement origin) {
  std::vector<Cell> out;
  for (int top = kApronPx; top < kApronPx + kTilePx; top += kCellPx) {
    for (int left = kApronPx; left < kApronPx + kTilePx; left += kCellPx) {
      Cell cell = cell_of(a, b, both, left, top);
      if (cell.count < kCellPx * kCellPx / 2 || !is_common(cell)) continue;
      cell.off = moved(cell);
      cell.middle = origin + Displacement{left + 0.5 * (kCellPx - 1), top + 0.5 * (kCellPx - 1)};
      out.push_back(cell);
    }
  }
  return out;
}

// What the shifts do not explain tells how much the two differ, in the mean of the samples.
double variance_of(const std::vector<Cell>& cells) {
  double squares = 0;
  double unexplained = 0;
  double count = 0;
  for (const Cell& cell : cells) {
    squares += cell.square;
    unexplained += cell.square - cell.off.x_px * cell.pull.x_px - cell.off.y_px * cell.pull.y_px;
    count += cell.count;
  }
  return std::max(unexplained, 1e-6 * squares) / std::max(count, 1.0);
}

std::vector<Cell> cells_of_tile(Part first, Part second, Displacement origin) {
  Plane both(first.inside.size());
  for (int y = 0; y < both.height(); ++y)
    for (int x = 0; x < both.width(); ++x)
      both.row(y)[x] = first.inside.row(y)[x] * second.inside.row(y)[x];
  const double of_first = power_of(first, both);
  const double of_second = power_of(second, both);
  if (of_first <= 0 || of_second <= 0) return {};
  // One contrast for both: gain and blur differ.
  const double ratio = std::pow(of_second / of_first, 0.25);
  scale(first.detail.view(), static_cast<float>(ratio));
  scale(second.detail.view(), static_cast<float>(1 / ratio));
  return cells_of(first.detail, second.detail, both, origin);
}

}  // namespace

std::vector<Tie> gradient_ties(const Readable& first, const PanelMap& first_map,
                               const Readable& second, const PanelMap& second_map) {
  const Box box = outline(first_map).intersection(outline(second_map));
  std::vector<Displacement> tiles;
  for (int y = box.y0; y < box.y1; y += kTilePx)
    for (int x = box.x0; x < box.x1; x += kTilePx)
      tiles.push_back({static_cast<double>(x - kApronPx), static_cast<double>(y - kApronPx)});
  constexpr Size kSize{kTilePx + 2 * kApronPx, kTilePx + 2 * kApronPx};
  std::vector<std::vector<Tie>> found(tiles.size());
  parallel_for(std::ssize(tiles), [&](std::int64_t i) {
    const auto at = static_cast<std::size_t>(i);
    const std::vector<Cell> cells =
        cells_of_tile(part_of(first, first_map, tiles[at], kSize),
                      part_of(second, second_map, tiles[at], kSize), tiles[at]);
    const double variance = variance_of(cells);
    if (variance <= 0) return;
    for (const Cell& cell : cells) {
      const Information raw = cell.gradients * (1 / (variance * kAlikePx2));
      found[at].push_back({first_map.to_panel(cell.middle),
                           second_map.to_panel(cell.middle + cell.off),
                           raw * (1 / (1 + raw.mean() * kLeastErrorPx * kLeastErrorPx))});
    }
  });
  std::vector<Tie> out;
  for (const auto& some : found) out.insert(out.end(), some.begin(), some.end());
  return out;
}

}  // namespace lull::mosaic
