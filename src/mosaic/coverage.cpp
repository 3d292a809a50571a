#include "mosaic/coverage.h"

#include <algorithm>
#include <cmath>

#include "merge/covered.h"

namespace lull::mosaic {

namespace {

constexpr double kMostCells = 16e6;
constexpr float kHalf = 0.5F;
constexpr int kLeastSide = 16;  // of a window

int cells(int px, int cell_px) { return (px + cell_px - 1) / cell_px; }

int cell_of(Size mosaic) {
  const double side = std::sqrt(static_cast<double>(mosaic.area_px()) / kMostCells);
  return std::max(1, static_cast<int>(std::ceil(side)));
}

Box centred(const Box& box, int most_px) {
  const int width = std::min(box.width_px(), most_px);
  const int height = std::min(box.height_px(), most_px);
  const int x = box.x0 + (box.width_px() - width) / 2;
  const int y = box.y0 + (box.height_px() - height) / 2;
  return {x, y, x + width, y + height};
}

bool is_whole(PlaneView mask) {
  for (int y = 0; y < mask.height_px; ++y) {
    const float* row = mask.row(y);
    if (std::any_of(row, row + mask.width_px, [](float v) { return v < 1; })) return false;
  }
  return true;
}

// So many of them, evenly spread.
std::vector<Box> picked(const std::vector<Box>& all, std::size_t most) {
  if (all.size() <= most) return all;
  std::vector<Box> out;
  for (std::size_t i = 0; i < most; ++i) out.push_back(all[(2 * i + 1) * all.size() / (2 * most)]);
  return out;
}

}  // namespace

Coverage::Coverage(Size mosaic)
    : mosaic_(mosaic),
      cell_px_(cell_of(mosaic)),
      shares_(cells(mosaic.width_px, cell_px_), cells(mosaic.height_px, cell_px_)) {}

void Coverage::add(PlaneView covered, int x0, int y0) {
  for (int y = 0; y < covered.height_px; ++y) {
    const int row = (y0 + y) / cell_px_;
    const int rows = std::min(cell_px_, mosaic_.height_px - row * cell_px_);
    for (int x = 0; x < covered.width_px; ++x) {
      if (!(covered.row(y)[x] > 0)) continue;
      const int column = (x0 + x) / cell_px_;
      const int columns = std::min(cell_px_, mosaic_.width_px - column * cell_px_);
      // A sum of so many 1 / n is 1 but for rounding.
      shares_.row(row)[column] += 1.0F / static_cast<float>(rows * columns);
    }
  }
}

double Coverage::share() const {
  double sum = 0;
  for (int y = 0; y < shares_.height(); ++y) {
    const int rows = std::min(cell_px_, mosaic_.height_px - y * cell_px_);
    for (int x = 0; x < shares_.width(); ++x) {
      const int columns = std::min(cell_px_, mosaic_.width_px - x * cell_px_);
      sum += std::round(static_cast<double>(shares_.row(y)[x]) * rows * columns);
    }
  }
  return sum / static_cast<double>(mosaic_.area_px());
}

std::vector<Hole> Coverage::holes(double least_px) const {
  Plane shown(shares_.size());
  for (int y = 0; y < shown.height(); ++y)
    for (int x = 0; x < shown.width(); ++x)
      shown.row(y)[x] = shares_.row(y)[x] > kHalf ? 1.0F : 0.0F;
  const double cell = cell_px_;
  std::vector<Hole> out = holes_in(shown.view(), least_px / (cell * cell));
  for (Hole& hole : out) {
    hole.box = {hole.box.x0 * cell_px_, hole.box.y0 * cell_px_,
                std::min(hole.box.x1 * cell_px_, mosaic_.width_px),
                std::min(hole.box.y1 * cell_px_, mosaic_.height_px)};
    hole.middle = {(hole.middle.x_px + 0.5) * cell - 0.5, (hole.middle.y_px + 0.5) * cell - 0.5};
    hole.area_px *= cell * cell;
  }
  return out;
}

// 1 where a cell is covered to its last pixel.
Plane Coverage::whole_cells() const {
  Plane out(shares_.size());
  const float whole = 1 - kHalf / static_cast<float>(cell_px_ * cell_px_);
  for (int y = 0; y < out.height(); ++y)
    for (int x = 0; x < out.width(); ++x) out.row(y)[x] = shares_.row(y)[x] > whole ? 1.0F : 0.0F;
  return out;
}

std::vector<Box> Coverage::windows(int side_px, std::size_t most) const {
  const Plane whole = whole_cells();
  const int side = cells(side_px, cell_px_);
  std::vector<Box> all;
  for (int y = 0; y + side <= mosaic_.height_px / cell_px_; y += side) {
    for (int x = 0; x + side <= mosaic_.width_px / cell_px_; x += side) {
      if (!is_whole(whole.view().crop({x, y, x + side, y + side}))) continue;
      all.push_back({x * cell_px_, y * cell_px_, x * cell_px_ + side_px, y * cell_px_ + side_px});
    }
  }
  if (!all.empty()) return picked(all, most);
  const Box inner = merge::covered_box({whole.view()}, {0, 0, whole.width(), whole.height()});
  const Box px = {inner.x0 * cell_px_, inner.y0 * cell_px_,
                  std::min(inner.x1 * cell_px_, mosaic_.width_px),
                  std::min(inner.y1 * cell_px_, mosaic_.height_px)};
  if (px.width_px() < kLeastSide || px.height_px() < kLeastSide) return {};
  return {centred(px, 2 * side_px)};
}

}  // namespace lull::mosaic
