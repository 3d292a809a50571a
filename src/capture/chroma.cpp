#include "capture/chroma.h"

#include <utility>

namespace lull::capture {

namespace {

// A quarter turn clockwise: rows become columns, the last row the first column.
Chroma quarter_turned(const Chroma& chroma, Size luma) {
  const Size size = chroma.size_beside(luma);
  Chroma out = chroma;
  std::swap(out.columns, out.rows);
  const double last_y = chroma.first_y_px + (size.height_px - 1) * chroma.rows;
  out.first_x_px = luma.height_px - 1 - last_y;
  out.first_y_px = chroma.first_x_px;
  return out;
}

}  // namespace

Chroma turned_chroma(const Chroma& chroma, Size luma, int quarters) {
  Chroma out = chroma;
  for (int i = 0; i < quarters; ++i) {
    out = quarter_turned(out, luma);
    std::swap(luma.width_px, luma.height_px);
  }
  return out;
}

}  // namespace lull::capture
