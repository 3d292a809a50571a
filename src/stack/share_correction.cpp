#include "stack/share_correction.h"

#include "core/assert.h"

namespace lull::stack {

namespace {

constexpr int kApartPx = 4;  // detail, not shading; and more than what neighbours share of noise

double slope_of(PlaneView colour, PlaneView luminance) {
  double product = 0;
  double square = 0;
  const auto add = [&](int x, int y, int to_x, int to_y) {
    const double step = static_cast<double>(luminance.row(to_y)[to_x] - luminance.row(y)[x]);
    product += step * static_cast<double>(colour.row(to_y)[to_x] - colour.row(y)[x]);
    square += step * step;
  };
  for (int y = 0; y < luminance.height_px - kApartPx; ++y) {
    for (int x = 0; x < luminance.width_px - kApartPx; ++x) {
      add(x, y, x + kApartPx, y);
      add(x, y, x, y + kApartPx);
    }
  }
  return square > 0 ? product / square : 0;
}

}  // namespace

void share_correction(PlaneView before, PlaneView after, MutablePlaneView colour,
                      const Box& measured) {
  LULL_ASSERT(before.size() == colour.size() && after.size() == colour.size());
  const auto slope = static_cast<float>(slope_of(colour.crop(measured), before.crop(measured)));
  for (int y = 0; y < colour.height_px; ++y) {
    float* row = colour.row(y);
    for (int x = 0; x < colour.width_px; ++x)
      row[x] += slope * (after.row(y)[x] - before.row(y)[x]);
  }
}

}  // namespace lull::stack
