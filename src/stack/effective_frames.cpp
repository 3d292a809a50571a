#include "stack/effective_frames.h"

#include <algorithm>
#include <cmath>

namespace lull::stack {

namespace {

constexpr int kNodePx = align::ShiftField::kNodePx;

double node_middle(int node) { return node * kNodePx + 0.5 * (kNodePx - 1); }

bool holds(Size size, double x, double y) {
  return x >= 0 && y >= 0 && x <= size.width_px - 1 && y <= size.height_px - 1;
}

// Nodes from the first to before the last whose centres are in [from, to); at least one.
struct Nodes {
  int first = 0;
  int last = 0;

  Nodes(int from, int to, int count) {
    first =
        std::clamp(static_cast<int>(std::ceil((from - node_middle(0)) / kNodePx)), 0, count - 1);
    last =
        std::clamp(static_cast<int>(std::ceil((to - node_middle(0)) / kNodePx)), first + 1, count);
  }

  [[nodiscard]] int count() const { return last - first; }
};

}  // namespace

float NodeMap::nearest(double x_px, double y_px) const {
  const auto index = [this](double at, double first, int count) {
    return std::clamp(static_cast<int>(std::lround((at - first) / step_px)), 0, count - 1);
  };
  return values.row(index(y_px, y0_px, values.height()))[index(x_px, x0_px, values.width())];
}

EffectiveFrames::EffectiveFrames(Size reference)
    : grid_(reference), sum_(grid_.local_x.size()), squares_(grid_.local_x.size()) {}

void EffectiveFrames::add(const align::ShiftField& field, const std::vector<float>& weights,
                          Size frame) {
  std::size_t n = 0;
  for (int r = 0; r < grid_.rows(); ++r) {
    for (int c = 0; c < grid_.columns(); ++c, ++n) {
      const FrameOffset rigid = field.rigid_at(node_middle(c), node_middle(r));
      const double x = node_middle(c) + rigid.x_px + static_cast<double>(field.local_x[n]);
      const double y = node_middle(r) + rigid.y_px + static_cast<double>(field.local_y[n]);
      if (!holds(frame, x, y)) continue;
      const auto weight = static_cast<double>(weights[n]);
      sum_[n] += weight;
      squares_[n] += weight * weight;
    }
  }
}

NodeMap EffectiveFrames::map(const Box& crop) const {
  const Nodes across(crop.x0, crop.x1, grid_.columns());
  const Nodes down(crop.y0, crop.y1, grid_.rows());
  NodeMap out{Plane(Size{across.count(), down.count()}), kNodePx,
              node_middle(across.first) - crop.x0, node_middle(down.first) - crop.y0};
  for (int r = 0; r < down.count(); ++r) {
    for (int c = 0; c < across.count(); ++c) {
      const std::size_t n =
          static_cast<std::size_t>(down.first + r) * static_cast<std::size_t>(grid_.columns()) +
          static_cast<std::size_t>(across.first + c);
      const double value = squares_[n] > 0 ? sum_[n] * sum_[n] / squares_[n] : 0;
      out.values.row(r)[c] = static_cast<float>(value);
    }
  }
  return out;
}

}  // namespace lull::stack
