#include "mosaic/places.h"

#include <cmath>

namespace lull::mosaic {

namespace {

constexpr int kStepPx = 8;

}  // namespace

Places::Places(const PanelMap& map, Displacement origin, Size size)
    : columns_((size.width_px + kStepPx - 1) / kStepPx + 1) {
  const int rows = (size.height_px + kStepPx - 1) / kStepPx + 1;
  nodes_.reserve(static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows));
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < columns_; ++c) {
      nodes_.push_back(map.to_panel({origin.x_px + static_cast<double>(c * kStepPx),
                                     origin.y_px + static_cast<double>(r * kStepPx)}));
    }
  }
}

Displacement Places::at(int x, int y) const {
  const int c = x / kStepPx;
  const int r = y / kStepPx;
  const double right = static_cast<double>(x - c * kStepPx) / kStepPx;
  const double down = static_cast<double>(y - r * kStepPx) / kStepPx;
  const auto* upper = nodes_.data() + static_cast<std::ptrdiff_t>(r) * columns_ + c;
  const auto* lower = upper + columns_;
  const auto mix = [&](double a, double b, double d, double e) {
    return std::lerp(std::lerp(a, b, right), std::lerp(d, e, right), down);
  };
  return {mix(upper[0].x_px, upper[1].x_px, lower[0].x_px, lower[1].x_px),
          mix(upper[0].y_px, upper[1].y_px, lower[0].y_px, lower[1].y_px)};
}

}  // namespace lull::mosaic
