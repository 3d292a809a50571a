#include "mosaic/places.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

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

void Places::row(int y, std::span<Displacement> out) const {
  const int r = y / kStepPx;
  const double down = static_cast<double>(y - r * kStepPx) / kStepPx;
  const auto width = static_cast<int>(out.size());
  const auto* upper = nodes_.data() + static_cast<std::ptrdiff_t>(r) * columns_;
  const auto* lower = upper + columns_;
  const auto mix = [down](Displacement a, Displacement b) {
    return Displacement{std::lerp(a.x_px, b.x_px, down), std::lerp(a.y_px, b.y_px, down)};
  };
  Displacement left = mix(upper[0], lower[0]);
  for (int x = 0, c = 1; x < width; x += kStepPx, ++c) {
    const Displacement right = mix(upper[c], lower[c]);
    const Displacement step{(right.x_px - left.x_px) / kStepPx, (right.y_px - left.y_px) / kStepPx};
    const int count = std::min(kStepPx, width - x);
    for (int i = 0; i < count; ++i) {
      out[static_cast<std::size_t>(x + i)] = {left.x_px + i * step.x_px, left.y_px + i * step.y_px};
    }
    left = right;
  }
}

}  // namespace lull::mosaic
