#include "align/padded_frame.h"

#include <algorithm>

namespace lull::align {

void PaddedFrame::assign(SampleView samples, const SampleScale& scale) {
  size_ = samples.size();
  const Size padded{size_.width_px + 2 * kPad, size_.height_px + 2 * kPad};
  if (plane_.size() != padded) plane_ = Plane(padded);
  to_plane(samples, scale,
           {plane_.row(kPad) + kPad, size_.width_px, size_.height_px, plane_.view().stride_elems});
  for (int y = kPad; y < kPad + size_.height_px; ++y) {
    float* row = plane_.row(y);
    std::fill_n(row, kPad, row[kPad]);
    std::fill_n(row + kPad + size_.width_px, kPad, row[kPad + size_.width_px - 1]);
  }
  for (int y = 0; y < kPad; ++y) {
    std::copy_n(plane_.row(kPad), padded.width_px, plane_.row(y));
    std::copy_n(plane_.row(kPad + size_.height_px - 1), padded.width_px,
                plane_.row(kPad + size_.height_px + y));
  }
}

}  // namespace lull::align
