#include "merge/similarity.h"

#include <cmath>

namespace lull::merge {

Displacement middle_of(Size size) {
  return {0.5 * (size.width_px - 1), 0.5 * (size.height_px - 1)};
}

Displacement Similarity::seen_at(double x, double y) const {
  const Displacement from = Displacement{x, y} - middle_of(grid);
  const double c = scale * std::cos(turn);
  const double s = scale * std::sin(turn);
  return middle_of(picture) + shift +
         Displacement{c * from.x_px - s * from.y_px, s * from.x_px + c * from.y_px};
}

void Similarity::move(float* x, float* y, int count) const {
  for (int i = 0; i < count; ++i) {
    const Displacement at = seen_at(static_cast<double>(x[i]), static_cast<double>(y[i]));
    x[i] = static_cast<float>(at.x_px);
    y[i] = static_cast<float>(at.y_px);
  }
}

Similarity Similarity::after(Displacement moved, double grows, double turns) const {
  Similarity out = *this;
  const double c = scale * std::cos(turn);
  const double s = scale * std::sin(turn);
  out.shift =
      shift + Displacement{c * moved.x_px - s * moved.y_px, s * moved.x_px + c * moved.y_px};
  out.scale = scale * (1 + grows);
  out.turn = turn + turns;
  return out;
}

}  // namespace lull::merge
