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

// Five rows around one, `step` apart, weighed by [1 4 6 4 1] / 16.
void smooth_column(PlaneView in, int y, int step, float* to) {
  const float* far_up = in.row(mirrored(y - 2 * step, in.height_px));
  const float* up = in.row(mirrored(y - step, in.height_px));
  const float* mid = in.row(y);
  const float* down = in.row(mirrored(y + step, in.height_px));
  const float* far_down = in.row(mirrored(y + 2 * step, in.height_px));
  for (int x = 0; x < in.width_px; ++x)
    to[x] = (far_up[x] + far_down[x] + 4.0F * (up[x] + down[x]) + 6.0F * mid[x]) / 16.0F;
}

// The same along a line that is continued by 2 steps at either end.
void smooth_line(const float* line, int width, int step, float* to) {
  const float* far_left = line - 2 * step;
  const float* left = line - step;
  const float* right = line + step;
  const float* far_right = line + 2 * step;
  for (int x = 0; x < width; ++x)
    to[x] = (far_left[x] + far_right[x] + 4.0F * (left[x] + right[x]) + 6.0F * line[x]) / 16.0F;
}

// One smoothing with taps `step` apart, along columns and then along rows.
Plane smoothed(PlaneView in, int step) {
  Plane out(in.size());
  const int width = in.width_px;
  const int beyond = 2 * step;
  const int bands = (in.height_px + kBandRows - 1) / kBandRows;
  parallel_for(bands, [&](std::int64_t band) {
    std::vector<float> around(static_cast<std::size_t>(width + 2 * beyond));
    float* line = around.data() + beyond;
    const int first = static_cast<int>(band) * kBandRows;
    for (int y = first; y < std::min(first + kBandRows, in.height_px); ++y) {
      smooth_column(in, y, step, line);
      for (int i = 1; i <= beyond; ++i) {
        line[-i] = line[mirrored(-i, width)];
        line[width - 1 + i] = line[mirrored(width - 1 + i, width)];
      }
      smooth_line(line, width, step, out.row(y));
    }
  });
  return out;
}

// target -= taken, sample by sample.
void take_off(Plane& target, const Plane& taken) {
  parallel_for(target.height(), [&](std::int64_t row) {
    const int y = static_cast<int>(row);
    float* t = target.row(y);
    const float* off = taken.row(y);
    for (int x = 0; x < target.width(); ++x) t[x] -= off[x];
  });
}

}  // namespace

AtrousPlanes atrous(PlaneView picture, int count) {
  LULL_ASSERT(count >= 1);
  AtrousPlanes out;
  Plane current = Plane::copy_of(picture);
  for (int j = 0; j < count; ++j) {
    Plane smoother = smoothed(current.view(), 1 << j);
    take_off(current, smoother);
    out.planes.push_back(std::move(current));
    current = std::move(smoother);
  }
  out.smooth = std::move(current);
  return out;
}

}  // namespace lull::finish
