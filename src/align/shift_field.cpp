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

ShiftField::ShiftField(Size reference, FrameOffset whole_offset)
    : whole(whole_offset),
      size_(reference),
      columns_((reference.width_px + kNodePx - 1) / kNodePx),
      rows_((reference.height_px + kNodePx - 1) / kNodePx) {
  const auto count = static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_);
  local_x.assign(count, 0.0F);
  local_y.assign(count, 0.0F);
}

void ShiftField::expand(const std::vector<float>& nodes, int y, float* out) const {
  const Between down = between(y, rows_);
  kernels::expand_nodes()(nodes.data() + static_cast<std::ptrdiff_t>(down.low) * columns_,
                          nodes.data() + static_cast<std::ptrdiff_t>(down.high) * columns_,
                          down.weight, columns_, out);
}

void ShiftField::coordinates(int y, float* x_out, float* y_out) const {
  expand(local_x, y, x_out);
  expand(local_y, y, y_out);
  kernels::add_place()(static_cast<float>(whole.x_px), static_cast<float>(whole.y_px + y),
                       size_.width_px, x_out, y_out);
}

FrameOffset ShiftField::at(double x, double y) const {
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
