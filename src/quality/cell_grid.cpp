#include "quality/cell_grid.h"

#include <algorithm>
#include <cmath>

namespace lull::quality {

namespace {

struct Between {
  int low;
  int high;
  float weight;  // of high
};

Between between(double cell, int count) {
  const double inside = std::clamp(cell, 0.0, static_cast<double>(count - 1));
  const int low = std::min(static_cast<int>(inside), count - 1);
  return {low, std::min(low + 1, count - 1), static_cast<float>(inside - low)};
}

std::vector<float> gaussian_taps(double sigma_cells) {
  const int radius = static_cast<int>(std::ceil(3.0 * sigma_cells));
  std::vector<float> taps(static_cast<std::size_t>(2 * radius + 1));
  for (int i = -radius; i <= radius; ++i) {
    taps[static_cast<std::size_t>(std::ptrdiff_t{i} + radius)] =
        static_cast<float>(std::exp(-0.5 * i * i / (sigma_cells * sigma_cells)));
  }
  return taps;
}

}  // namespace

float CellGrid::at_pixel(double x, double y) const {
  const double half = 0.5 * (kCellPx - 1);
  const Between across = between((x - half) / kCellPx, columns_);
  const Between down = between((y - half) / kCellPx, rows_);
  const float* upper = row(down.low);
  const float* lower = row(down.high);
  const float top = upper[across.low] + across.weight * (upper[across.high] - upper[across.low]);
  const float bottom = lower[across.low] + across.weight * (lower[across.high] - lower[across.low]);
  return top + down.weight * (bottom - top);
}

CellGrid blurred(const CellGrid& grid, double sigma_px) {
  const auto taps = gaussian_taps(std::max(sigma_px / kCellPx, 1e-3));
  const int radius = static_cast<int>(taps.size()) / 2;
  const auto pass = [&](const CellGrid& in, bool across) {
    CellGrid out = in;
    const int length = across ? in.columns() : in.rows();
    for (int r = 0; r < in.rows(); ++r) {
      for (int c = 0; c < in.columns(); ++c) {
        const int position = across ? c : r;
        float sum = 0;
        float weight = 0;
        for (int i = -radius; i <= radius; ++i) {
          const int at = position + i;
          if (at < 0 || at >= length) continue;
          const float tap = taps[static_cast<std::size_t>(std::ptrdiff_t{i} + radius)];
          sum += tap * (across ? in.row(r)[at] : in.row(at)[c]);
          weight += tap;
        }
        out.row(r)[c] = sum / weight;
      }
    }
    return out;
  };
  return pass(pass(grid, true), false);
}

}  // namespace lull::quality
