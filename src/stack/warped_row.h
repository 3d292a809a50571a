#pragma once

#include <vector>

#include "stack/half_stacks.h"

namespace lull::stack {

/// Rows of one frame on the grid of its reference. One thread.
class WarpedRow {
 public:
  explicit WarpedRow(const Contribution& part);

  /// Samples the frame along reference row y (cubic convolution).
  void move_to(int y);

  /// The samples, as wide as the reference; before the part's gain.
  [[nodiscard]] const float* samples() const { return sampled_; }

  /// Multiplies weights of that row by what fades to zero over the last pixels before the frame's
  /// edge, so that no edge shows in the stack.
  void fade(float* weights) const;

 private:
  const Contribution& part_;
  std::vector<float> rows_;
  float* x_;
  float* y_;
  float* sampled_;
};

}  // namespace lull::stack
