#pragma once

#include <vector>

#include "align/padded_frame.h"
#include "align/shift_field.h"
#include "core/plane.h"

namespace lull::stack {

/// The grid of a picture: that of the reference, or a finer one over the same area. Its pixel (X,
/// Y) has its centre at reference point ((X + 1/2) / scale - 1/2, (Y + 1/2) / scale - 1/2).
class PictureGrid {
 public:
  /// @param scale  1 or more.
  PictureGrid(Size reference, double scale);

  [[nodiscard]] double scale() const { return scale_; }

  [[nodiscard]] Size size() const { return size_; }

  /// Its part inside an area of the reference.
  [[nodiscard]] Box inside(const Box& area) const;

  /// Frame coordinates of the pixels of row Y. @param field  of the reference's size.
  /// @param x,y  get at least as many values as a row has pixels.
  void coordinates(const align::ShiftField& field, int row, std::vector<float>& x,
                   std::vector<float>& y) const;

  /// Values given on the field's nodes, on the pixels of row Y. @param out  as x and y above.
  void expand(const align::ShiftField& field, const std::vector<float>& nodes, int row,
              std::vector<float>& out) const;

  /// A plane of the reference's size on this grid, by cubic convolution.
  [[nodiscard]] Plane enlarged(PlaneView plane) const;

 private:
  [[nodiscard]] double place(int pixel) const { return (pixel + 0.5) / scale_ - 0.5; }

  Size reference_;
  double scale_ = 1;
  Size size_;
  std::vector<float> places_;  ///< of the columns, reference px
  std::vector<int> left_;      ///< of the columns: node on the left
  std::vector<float> share_;   ///< of the node on the right
};

}  // namespace lull::stack
