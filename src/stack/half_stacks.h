#pragma once

#include <array>
#include <vector>

#include "align/padded_frame.h"
#include "align/shift_field.h"
#include "core/plane.h"

namespace lull::stack {

/// One frame on its way into the stack.
struct Contribution {
  const align::PaddedFrame* frame = nullptr;
  const align::ShiftField* field = nullptr;
  /// Weight on the field's nodes, bilinear between them; on top of it the weight fades to zero
  /// over the last pixels before the frame's edge, so that no edge shows in the stack.
  const std::vector<float>* weights = nullptr;
  double gain = 1;
  int half = 0;               ///< 0 or 1
  bool in_reference = false;  ///< did it help to make the reference?
};

/// Weighted sums of two disjoint halves of the frames, on the grid of the reference.
class HalfStacks {
 public:
  HalfStacks() = default;
  explicit HalfStacks(Size size);

  [[nodiscard]] Size size() const { return halves_[0].sum.size(); }

  /// Warps each frame to the reference (cubic convolution) and adds it, in the order given; areas
  /// of the picture run in parallel, so any number of threads gives the same sums.
  void add(const std::vector<Contribution>& batch);

  /// Weighted mean of both halves; 0 where no weight is.
  [[nodiscard]] Plane mean() const;

  /// Weighted mean of one half.
  [[nodiscard]] Plane half_mean(int half) const;

  /// 1 where both halves hold data, 0 elsewhere.
  [[nodiscard]] Plane valid() const;

  [[nodiscard]] HalfStacks copy() const;

 private:
  struct Half {
    Plane sum;
    Plane weight;
  };

  std::array<Half, 2> halves_;
};

}  // namespace lull::stack
