#pragma once

#include <cstddef>
#include <vector>

#include "core/geometry.h"

namespace lull::quality {

/// Side of the square on whose grid sharpness is accumulated.
inline constexpr int kCellPx = 16;

/// One float for each whole cell of a frame, row by row. Pixels right of and below the last whole
/// cell belong to none.
class CellGrid {
 public:
  CellGrid() = default;

  explicit CellGrid(Size frame)
      : columns_(frame.width_px / kCellPx),
        rows_(frame.height_px / kCellPx),
        values_(static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_)) {}

  [[nodiscard]] int columns() const { return columns_; }

  [[nodiscard]] int rows() const { return rows_; }

  [[nodiscard]] std::size_t count() const { return values_.size(); }

  [[nodiscard]] float* row(int r) { return values_.data() + offset(r); }

  [[nodiscard]] const float* row(int r) const { return values_.data() + offset(r); }

  [[nodiscard]] std::vector<float>& values() { return values_; }

  [[nodiscard]] const std::vector<float>& values() const { return values_; }

  /// Value at pixel (x, y): bilinear between cell centres, the nearest cell outside of them.
  /// The grid must not be empty.
  [[nodiscard]] float at_pixel(double x, double y) const;

 private:
  [[nodiscard]] std::size_t offset(int r) const {
    return static_cast<std::size_t>(r) * static_cast<std::size_t>(columns_);
  }

  int columns_ = 0;
  int rows_ = 0;
  std::vector<float> values_;
};

/// The grid blurred with a Gaussian of that standard deviation in pixels; edges are renormalised.
[[nodiscard]] CellGrid blurred(const CellGrid& grid, double sigma_px);

}  // namespace lull::quality
