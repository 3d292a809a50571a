#pragma once

#include <cstddef>
#include <vector>

#include "core/geometry.h"
#include "core/plane.h"
#include "mosaic/holes.h"

namespace lull::mosaic {

/// What panels show of a mosaic, by cells of a few pixels (1 for pictures of up to 16 Mpx), so that
/// it takes little memory.
class Coverage {
 public:
  explicit Coverage(Size mosaic);

  /// A part of the mosaic. @param covered  1 where a panel shows something, else 0.
  void add(PlaneView covered, int x0, int y0);

  /// Of all pixels.
  [[nodiscard]] double share() const;

  /// As holes_in(), right to a cell. @param least_px  area.
  [[nodiscard]] std::vector<Hole> holes(double least_px) const;

  /// Windows of one size, covered to the last pixel, that do not overlap: squares of `side_px`,
  /// evenly picked, or else the largest rectangle that is found. None where little is covered.
  [[nodiscard]] std::vector<Box> windows(int side_px, std::size_t most) const;

 private:
  [[nodiscard]] Plane whole_cells() const;

  Size mosaic_;
  int cell_px_;
  Plane shares_;  ///< of each cell
};

}  // namespace lull::mosaic
