#pragma once

#include "core/plane.h"
#include "core/samples.h"

namespace lull::align {

/// A frame as float light with its edge samples repeated outwards, so that a 4 x 4 interpolation
/// needs no test at the borders. Reused from frame to frame.
class PaddedFrame {
 public:
  static constexpr int kPad = 4;

  void assign(SampleView samples, const SampleScale& scale);

  void assign(PlaneView plane);

  /// Makes room for a frame, whose samples the caller writes; repeat_edges() follows.
  [[nodiscard]] MutablePlaneView resize(Size size);
  void repeat_edges();

  [[nodiscard]] Size size() const { return size_; }

  /// Changes a sample, and what repeats it beyond the edges.
  void set(int x, int y, float value);

  /// Sample (0, 0); rows and columns from -kPad to size + kPad - 1 may be read.
  [[nodiscard]] const float* origin() const { return plane_.row(kPad) + kPad; }

  [[nodiscard]] std::ptrdiff_t stride_elems() const { return plane_.view().stride_elems; }

  [[nodiscard]] PlaneView view() const {
    return {origin(), size_.width_px, size_.height_px, stride_elems()};
  }

 private:
  Size size_;
  Plane plane_;
};

}  // namespace lull::align
