#pragma once

#include <cstddef>
#include <vector>

#include "align/field_kernels.h"
#include "core/geometry.h"

namespace lull::align {

/// Smooth displacement of one frame against the reference. Detail at reference point p is seen in
/// the frame at whole + turned(p + local(p)); local is given on a grid of nodes, bilinear between
/// them. The turn is about the middle of the reference.
class ShiftField {
 public:
  /// Distance of nodes; node (c, r) is at the centre of its square of that side.
  static constexpr int kNodePx = align::kNodePx;

  ShiftField() = default;
  /// No local displacement.
  explicit ShiftField(Size reference, FrameOffset whole = {});

  [[nodiscard]] int columns() const { return columns_; }

  [[nodiscard]] int rows() const { return rows_; }

  FrameOffset whole;
  double turn = 0;             ///< radians, from +x towards +y
  std::vector<float> local_x;  ///< px, node by node, row by row
  std::vector<float> local_y;

  /// Frame coordinates of the pixels [0, width) of reference row y. The rows must hold row_size().
  void coordinates(int y, float* x_out, float* y_out) const;

  /// From reference points, with their local displacement, to frame coordinates.
  void move(float* x, float* y, std::size_t count) const;

  /// The turn alone, of a difference of two places.
  [[nodiscard]] Displacement turned(Displacement difference) const;

  /// Values given on this field's nodes, on the pixels of reference row y. `out` as above.
  void expand(const std::vector<float>& nodes, int y, float* out) const;

  /// Floats that a row of pixels made from nodes takes: the width, rounded up to whole nodes.
  [[nodiscard]] std::size_t row_size() const {
    return static_cast<std::size_t>(columns_) * kNodePx;
  }

  /// Offset at a reference point.
  [[nodiscard]] FrameOffset at(double x, double y) const;

  /// The same without local displacement.
  [[nodiscard]] FrameOffset rigid_at(double x, double y) const;

  /// Root mean square of the local displacement over the nodes, px.
  [[nodiscard]] double local_rms_px() const;

 private:
  Size size_;
  int columns_ = 0;
  int rows_ = 0;
};

}  // namespace lull::align
