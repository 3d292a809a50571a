#include "finish/atrous.h"

#include <cmath>
#include <cstdlib>
#include <numbers>

#include "core/parallel.h"

namespace lull::finish {

namespace {

constexpr int kBandRows = 32;

// Index mirrored at the edges without repeating them, for any distance.
int mirrored(int i, int length) {
  if (length == 1) return 0;
  const int period = 2 * (length - 1);
  i = std::abs(i) % period;
  return i < length ? i : period - i;
}

// One smoothing by [1 4 6 4 1] / 16 with taps `step` apart, along columns and then along rows.
Plane smoothed(PlaneView in, int step) {
  Plane out(in.size());
  const int bands = (in.height_px + kBandRows - 1) / kBandRows;
  parallel_for(bands, [&](std::int64_t band) {
    std::vector<float> column(static_cast<std::size_t>(in.width_px));
    const int first = static_cast<int>(band) * kBandRows;
    for (int y = first; y < std::min(first + kBandRows, in.height_px); ++y) {
      const float* far_up = in.row(mirrored(y - 2 * step, in.height_px));
      const float* up = in.row(mirrored(y - step, in.height_px));
      const float* mid = in.row(y);
      const float* down = in.row(mirrored(y + step, in.height_px));
      const float* far_down = in.row(mirrored(y + 2 * step, in.height_px));
      for (int x = 0; x < in.width_px; ++x) {
        column[static_cast<std::size_t>(x)] =
            (far_up[x] + far_down[x] + 4.0F * (up[x] + down[x]) + 6.0F * mid[x]) / 16.0F;
      }
      float* to = out.row(y);
      for (int x = 0; x < in.width_px; ++x) {
        const auto at = [&](int i) {
          return column[static_cast<std::size_t>(mirrored(i, in.width_px))];
        };
        to[x] = (at(x - 2 * step) + at(x + 2 * step) + 4.0F * (at(x - step) + at(x + step)) +
                 6.0F * at(x)) /
                16.0F;
      }
    }
  });
  return out;
}

}  // namespace

AtrousPlanes atrous(PlaneView picture, int count) {
  LULL_ASSERT(count >= 1);
  AtrousPlanes out;
  Plane current = Plane::copy_of(picture);
  for (int j = 0; j < count; ++j) {
    Plane smoother = smoothed(current.view(), 1 << j);
    for (int y = 0; y < current.height(); ++y) {
      float* detail = current.row(y);
      const float* rest = smoother.row(y);
      for (int x = 0; x < current.width(); ++x) detail[x] -= rest[x];
    }
    out.planes.push_back(std::move(current));
    current = std::move(smoother);
  }
  out.smooth = std::move(current);
  return out;
}

}  // namespace lull::finish
