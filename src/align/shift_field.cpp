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
  if (turn == 0) {
    kernels::add_place()(static_cast<float>(whole.x_px), static_cast<float>(whole.y_px + y),
                         size_.width_px, x_out, y_out);
  } else {
    kernels::add_place()(0, static_cast<float>(y), size_.width_px, x_out, y_out);
    move(x_out, y_out, static_cast<std::size_t>(size_.width_px));
  }
}

void ShiftField::move(float* x, float* y, std::size_t count) const {
  const auto middle_x = static_cast<float>(0.5 * (size_.width_px - 1));
  const auto middle_y = static_cast<float>(0.5 * (size_.height_px - 1));
  const auto to_x = static_cast<float>(0.5 * (size_.width_px - 1) + whole.x_px);
  const auto to_y = static_cast<float>(0.5 * (size_.height_px - 1) + whole.y_px);
  const auto cosine = static_cast<float>(std::cos(turn));
  const auto sine = static_cast<float>(std::sin(turn));
  for (std::size_t i = 0; i < count; ++i) {
    const float dx = x[i] - middle_x;
    const float dy = y[i] - middle_y;
    x[i] = to_x + (cosine * dx - sine * dy);
    y[i] = to_y + (sine * dx + cosine * dy);
  }
}

Displacement ShiftField::turned(Displacement difference) const {
  const auto [x, y] = difference;
  return {std::cos(turn) * x - std::sin(turn) * y, std::sin(turn) * x + std::cos(turn) * y};
}

FrameOffset ShiftField::rigid_at(double x, double y) const {
  if (turn == 0) return whole;
  const Displacement from{x - 0.5 * (size_.width_px - 1), y - 0.5 * (size_.height_px - 1)};
  const Displacement moved = turned(from) - from;
  return whole + FrameOffset{moved.x_px, moved.y_px};
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
  const FrameOffset local{value(local_x), value(local_y)};
  return rigid_at(x + local.x_px, y + local.y_px) + local;
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
