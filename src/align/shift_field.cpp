#include "align/shift_field.h"

#include <algorithm>
#include <cmath>

namespace lull::align {

namespace {

struct Between {
  int low;
  int high;
  float weight;  // of high
};

Between between(double px, int count) {
  const double node = (px + 0.5) / ShiftField::kNodePx - 0.5;
  const double inside = std::clamp(node, 0.0, static_cast<double>(count - 1));
  const int low = static_cast<int>(inside);
  return {low, std::min(low + 1, count - 1), static_cast<float>(inside - low)};
}

}  // namespace

ShiftField::ShiftField(Size reference, Shift whole_shift)
    : whole(whole_shift),
      size_(reference),
      columns_((reference.width_px + kNodePx - 1) / kNodePx),
      rows_((reference.height_px + kNodePx - 1) / kNodePx) {
  const auto count = static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_);
  local_x.assign(count, 0.0F);
  local_y.assign(count, 0.0F);
}

void ShiftField::coordinates(int y, float* x_out, float* y_out) const {
  const Between down = between(y, rows_);
  const float* x_low = local_x.data() + static_cast<std::ptrdiff_t>(down.low) * columns_;
  const float* x_high = local_x.data() + static_cast<std::ptrdiff_t>(down.high) * columns_;
  const float* y_low = local_y.data() + static_cast<std::ptrdiff_t>(down.low) * columns_;
  const float* y_high = local_y.data() + static_cast<std::ptrdiff_t>(down.high) * columns_;
  const auto whole_x = static_cast<float>(whole.x_px);
  const auto whole_y = static_cast<float>(whole.y_px + y);
  const auto node_x = [&](int c) { return x_low[c] + down.weight * (x_high[c] - x_low[c]); };
  const auto node_y = [&](int c) { return y_low[c] + down.weight * (y_high[c] - y_low[c]); };
  const auto fill = [&](int first, int last, float ux, float uy, float step_x, float step_y,
                        float offset) {
    for (int x = first; x < last; ++x) {
      const float t = static_cast<float>(x - first) + offset;
      x_out[x] = static_cast<float>(x) + whole_x + ux + step_x * t;
      y_out[x] = whole_y + uy + step_y * t;
    }
  };
  // Half a node of constant displacement at either end, linear pieces between the nodes.
  const int half = kNodePx / 2;
  fill(0, std::min(half, size_.width_px), node_x(0), node_y(0), 0, 0, 0);
  for (int c = 0; c + 1 < columns_; ++c) {
    const float step_x = (node_x(c + 1) - node_x(c)) / kNodePx;
    const float step_y = (node_y(c + 1) - node_y(c)) / kNodePx;
    const int first = half + c * kNodePx;
    fill(first, std::min(first + kNodePx, size_.width_px), node_x(c), node_y(c), step_x, step_y,
         0.5F);
  }
  fill(half + (columns_ - 1) * kNodePx, size_.width_px, node_x(columns_ - 1), node_y(columns_ - 1),
       0, 0, 0);
}

Shift ShiftField::at(double x, double y) const {
  const Between across = between(x, columns_);
  const Between down = between(y, rows_);
  const auto value = [&](const std::vector<float>& nodes) {
    const float* low = nodes.data() + static_cast<std::ptrdiff_t>(down.low) * columns_;
    const float* high = nodes.data() + static_cast<std::ptrdiff_t>(down.high) * columns_;
    const float top = low[across.low] + across.weight * (low[across.high] - low[across.low]);
    const float bottom = high[across.low] + across.weight * (high[across.high] - high[across.low]);
    return static_cast<double>(top + down.weight * (bottom - top));
  };
  return {whole.x_px + value(local_x), whole.y_px + value(local_y)};
}

double ShiftField::local_rms_px() const {
  double sum = 0;
  for (std::size_t i = 0; i < local_x.size(); ++i) {
    sum += static_cast<double>(local_x[i]) * static_cast<double>(local_x[i]) +
           static_cast<double>(local_y[i]) * static_cast<double>(local_y[i]);
  }
  return local_x.empty() ? 0 : std::sqrt(sum / static_cast<double>(local_x.size()));
}

}  // namespace lull::align
