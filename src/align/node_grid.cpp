#include "align/node_grid.h"

#include <algorithm>
#include <cmath>

#include "align/shift_field.h"

namespace lull::align {

NodeWindow::NodeWindow(int columns, int rows, double sigma_px) : columns_(columns), rows_(rows) {
  const double sigma = sigma_px / ShiftField::kNodePx;
  const int radius = static_cast<int>(std::ceil(3.0 * sigma));
  for (int d = 0; d <= radius; ++d) {
    taps_.push_back(static_cast<float>(std::exp(-0.5 * d * d / (sigma * sigma))));
  }
}

void NodeWindow::apply(std::vector<float>& grid, std::vector<float>& scratch) const {
  const auto count = grid.size();
  const int radius = static_cast<int>(taps_.size()) - 1;
  scratch.assign(count, 0.0F);
  // Down first, whole rows at a time; then across.
  for (int r = 0; r < rows_; ++r) {
    float* to = scratch.data() + static_cast<std::ptrdiff_t>(r) * columns_;
    for (int k = std::max(r - radius, 0); k <= std::min(r + radius, rows_ - 1); ++k) {
      const float tap = taps_[static_cast<std::size_t>(std::abs(k - r))];
      const float* from = grid.data() + static_cast<std::ptrdiff_t>(k) * columns_;
      for (int c = 0; c < columns_; ++c) to[c] += tap * from[c];
    }
  }
  for (int r = 0; r < rows_; ++r) {
    const float* from = scratch.data() + static_cast<std::ptrdiff_t>(r) * columns_;
    float* to = grid.data() + static_cast<std::ptrdiff_t>(r) * columns_;
    std::fill_n(to, columns_, 0.0F);
    for (int d = -radius; d <= radius; ++d) {
      const float tap = taps_[static_cast<std::size_t>(std::abs(d))];
      const int first = std::max(-d, 0);
      const int last = std::min(columns_ - d, columns_);
      for (int c = first; c < last; ++c) to[c] += tap * from[c + d];
    }
  }
}

}  // namespace lull::align
