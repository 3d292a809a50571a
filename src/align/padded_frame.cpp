#include "align/padded_frame.h"

#include <algorithm>
#include <utility>

namespace lull::align {

MutablePlaneView PaddedFrame::resize(Size size) {
  size_ = size;
  const Size padded{size.width_px + 2 * kPad, size.height_px + 2 * kPad};
  if (plane_.size() != padded) plane_ = Plane(padded);
  return plane_.view().crop({kPad, kPad, kPad + size.width_px, kPad + size.height_px});
}

void PaddedFrame::assign(SampleView samples, const SampleScale& scale) {
  to_plane(samples, scale, resize(samples.size()));
  repeat_edges();
}

void PaddedFrame::assign(PlaneView plane) {
  const MutablePlaneView inner = resize(plane.size());
  for (int y = 0; y < plane.height_px; ++y) std::copy_n(plane.row(y), plane.width_px, inner.row(y));
  repeat_edges();
}

void PaddedFrame::set(int x, int y, float value) {
  const auto repeats = [](int at, int length) {
    return std::pair{at == 0 ? -kPad : at, at == length - 1 ? at + kPad : at};
  };
  const auto [x0, x1] = repeats(x, size_.width_px);
  const auto [y0, y1] = repeats(y, size_.height_px);
  for (int j = y0; j <= y1; ++j)
    std::fill(plane_.row(kPad + j) + kPad + x0, plane_.row(kPad + j) + kPad + x1 + 1, value);
}

void PaddedFrame::repeat_edges() {
  for (int y = kPad; y < kPad + size_.height_px; ++y) {
    float* row = plane_.row(y);
    std::fill_n(row, kPad, row[kPad]);
    std::fill_n(row + kPad + size_.width_px, kPad, row[kPad + size_.width_px - 1]);
  }
  for (int y = 0; y < kPad; ++y) {
    std::copy_n(plane_.row(kPad), plane_.width(), plane_.row(y));
    std::copy_n(plane_.row(kPad + size_.height_px - 1), plane_.width(),
                plane_.row(kPad + size_.height_px + y));
  }
}

}  // namespace lull::align
