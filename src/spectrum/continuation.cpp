#include "spectrum/continuation.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <numbers>
#include <vector>

#include "core/parallel.h"
#include "spectrum/fft.h"

namespace lull::spectrum {

namespace {

constexpr int kBeyondPx = 64;  // on either side, at least
constexpr int kFadePx = 48;    // from the edge to the mean

int mirrored_index(int i, int length) {
  const int period = 2 * length;
  i = ((i % period) + period) % period;
  return i < length ? i : period - 1 - i;
}

Size canvas_for(Size size) {
  return {fast_length_above(size.width_px + 2 * kBeyondPx),
          fast_length_above(size.height_px + 2 * kBeyondPx)};
}

Box middle_of(Size size) {
  return {kBeyondPx, kBeyondPx, kBeyondPx + size.width_px, kBeyondPx + size.height_px};
}

// A sample of the canvas along one axis: value = turn * edge + sign * sample, and what of it stays.
struct Source {
  int sample = 0;
  int edge = 0;
  float turn = 0;  // 2 beyond an edge
  float sign = 1;
  float stays = 1;
};

Source source_of(int at, int length) {
  if (at >= 0 && at < length) return {at, 0, 0, 1, 1};
  const int edge = at < 0 ? 0 : length - 1;
  const int apart = std::abs(at - edge);
  // Where the fade ends before the samples do, which one it is does not matter.
  const int sample = std::clamp(2 * edge - at, 0, length - 1);
  const double share = std::min(1.0, static_cast<double>(apart) / kFadePx);
  return {sample, edge, 2, -1, static_cast<float>(0.5 + 0.5 * std::cos(std::numbers::pi * share))};
}

std::vector<Source> sources(int canvas, int length) {
  std::vector<Source> out;
  out.reserve(static_cast<std::size_t>(canvas));
  for (int i = 0; i < canvas; ++i) out.push_back(source_of(i - kBeyondPx, length));
  return out;
}

float mean_of(PlaneView picture) {
  double sum = 0;
  for (int y = 0; y < picture.height_px; ++y)
    for (int x = 0; x < picture.width_px; ++x) sum += static_cast<double>(picture.row(y)[x]);
  return static_cast<float>(sum / static_cast<double>(picture.size().area_px()));
}

}  // namespace

Extended mirrored(PlaneView picture) {
  const Size canvas = canvas_for(picture.size());
  const Box inside = middle_of(picture.size());
  return {mirrored(picture, canvas, inside), inside};
}

Plane mirrored(PlaneView picture, Size canvas, const Box& inside) {
  LULL_ASSERT(inside.width_px() == picture.width_px && inside.height_px() == picture.height_px);
  Plane out(canvas);
  std::vector<int> columns;
  columns.reserve(static_cast<std::size_t>(canvas.width_px));
  for (int x = 0; x < canvas.width_px; ++x)
    columns.push_back(mirrored_index(x - inside.x0, picture.width_px));
  for (int y = 0; y < canvas.height_px; ++y) {
    const float* row = picture.row(mirrored_index(y - inside.y0, picture.height_px));
    std::transform(columns.begin(), columns.end(), out.row(y), [row](int x) { return row[x]; });
  }
  return out;
}

Extended continued(PlaneView picture) {
  const Size canvas = canvas_for(picture.size());
  const std::vector<Source> across = sources(canvas.width_px, picture.width_px);
  const std::vector<Source> down = sources(canvas.height_px, picture.height_px);
  const float mean = mean_of(picture);
  Extended out{Plane(canvas), middle_of(picture.size())};
  parallel_for(canvas.height_px, [&](std::int64_t y) {
    const Source& v = down[static_cast<std::size_t>(y)];
    const float* sample = picture.row(v.sample);
    const float* edge = picture.row(v.edge);
    // Down the column x of the picture.
    const auto at = [&](int x) { return v.turn * edge[x] + v.sign * sample[x]; };
    float* to = out.plane.row(static_cast<int>(y));
    for (int x = 0; x < canvas.width_px; ++x) {
      const Source& h = across[static_cast<std::size_t>(x)];
      if (h.turn == 0 && v.turn == 0) {
        to[x] = sample[h.sample];
        continue;
      }
      const float value = h.turn == 0 ? at(h.sample) : h.turn * at(h.edge) + h.sign * at(h.sample);
      to[x] = mean + v.stays * h.stays * (value - mean);
    }
  });
  return out;
}

}  // namespace lull::spectrum
