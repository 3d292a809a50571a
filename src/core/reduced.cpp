#include "core/reduced.h"

#include <cstddef>

namespace lull {

Plane reduced(PlaneView picture, int side_px) {
  if (side_px == 1) return Plane::copy_of(picture);
  Plane out(picture.width_px / side_px, picture.height_px / side_px);
  const float share = 1.0F / static_cast<float>(side_px * side_px);
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) {
      float sum = 0;
      for (int j = 0; j < side_px; ++j) {
        const float* row = picture.row(y * side_px + j) + std::ptrdiff_t{x} * side_px;
        for (int i = 0; i < side_px; ++i) sum += row[i];
      }
      out.row(y)[x] = share * sum;
    }
  }
  return out;
}

}  // namespace lull
