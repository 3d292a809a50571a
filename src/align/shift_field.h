#pragma once

#include <vector>

#include "core/geometry.h"

namespace lull::align {

/// Smooth displacement of one frame against the reference. Detail at reference point p is seen in
/// the frame at p + whole + local(p); local is given on a grid of nodes, bilinear between them.
class ShiftField {
 public:
  /// Distance of nodes; node (c, r) stands at the middle of its square of that side.
  static constexpr int kNodePx = 8;

  ShiftField() = default;
  /// No local displacement.
  explicit ShiftField(Size reference, Shift whole = {});

  [[nodiscard]] int columns() const { return columns_; }

  [[nodiscard]] int rows() const { return rows_; }

  [[nodiscard]] Size reference_size() const { return size_; }

  Shift whole;
  std::vector<float> local_x;  ///< px, node by node, row by row
  std::vector<float> local_y;

  /// Frame coordinates of the pixels [0, width) of reference row y.
  void coordinates(int y, float* x_out, float* y_out) const;

  /// Displacement (whole + local) at a reference point.
  [[nodiscard]] Shift at(double x, double y) const;

  /// Root mean square of the local displacement over the nodes, px.
  [[nodiscard]] double local_rms_px() const;

 private:
  Size size_;
  int columns_ = 0;
  int rows_ = 0;
};

}  // namespace lull::align
