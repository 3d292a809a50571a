#include "align/field_level.h"

#include <cmath>

#include "align/field_kernels.h"

namespace lull::align {

namespace {

// Beyond the edge of the data by this much of its weight, a blurred sample is not used.
constexpr float kLeastData = 0.98F;

Plane blurred(PlaneView in, double blur_px) {
  Plane out(in.size());
  GaussianBlur::Workspace work;
  GaussianBlur(blur_px).apply(in, work, out.view());
  return out;
}

Plane looked_at(const Plane& in, const FieldLevel& level) {
  const int rows = level.row_step;
  const int columns = level.column_step;
  Plane out((in.width() + columns - 1) / columns, (in.height() + rows - 1) / rows);
  for (int y = 0; y < out.height(); ++y)
    kernels::every()(in.row(rows * y), columns, 1, out.width(), out.row(y));
  return out;
}

}  // namespace

ReferenceLevel::ReferenceLevel(const FieldLevel& of_level, PlaneView of_reference,
                               PlaneView of_valid)
    : level(of_level) {
  const Size size = of_reference.size();
  reference = blurred(of_reference, level.blur_px);
  valid = Plane::copy_of(of_valid);
  Plane known = blurred(of_valid, level.blur_px);
  for (int row = 0; row < size.height_px; ++row) {
    for (int i = 0; i < size.width_px; ++i)
      known.row(row)[i] = known.row(row)[i] >= kLeastData ? 1.0F : 0.0F;
  }
  for (Plane* plane : {&gradient_x, &gradient_y, &curvature}) *plane = Plane(size);
  for (int row = 1; row < size.height_px - 1; ++row) {
    const float* up = reference.row(row - 1);
    const float* mid = reference.row(row);
    const float* down = reference.row(row + 1);
    const float* ok = known.row(row);
    for (int i = 1; i < size.width_px - 1; ++i) {
      // No gradient across the edge of the data.
      const float all =
          ok[i - 1] * ok[i] * ok[i + 1] * known.row(row - 1)[i] * known.row(row + 1)[i];
      gradient_x.row(row)[i] = all * 0.5F * (mid[i + 1] - mid[i - 1]);
      gradient_y.row(row)[i] = all * 0.5F * (down[i] - up[i]);
      curvature.row(row)[i] = all * (mid[i - 1] + mid[i + 1] + up[i] + down[i] - 4 * mid[i]);
    }
  }
  for (Plane* plane : {&reference, &gradient_x, &gradient_y, &curvature, &valid})
    *plane = looked_at(*plane, level);
}

void ReferenceLevel::add_sums(int columns, int rows, const NodeWindow& wide,
                              const NodeWindow& near) {
  const auto nodes = static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows);
  for (auto* grid : {&n, &x, &y, &xx, &xy, &yy, &c, &cx, &cy, &cc}) grid->assign(nodes, 0.0F);
  const int high = kNodePx / level.row_step;
  const int wide_node = kNodePx / level.column_step;
  for (int row = 0; row < reference.height(); ++row) {
    for (int column = 0; column < reference.width(); ++column) {
      const auto node =
          static_cast<std::size_t>(std::ptrdiff_t{row / high} * columns + column / wide_node);
      const float gx = gradient_x.row(row)[column];
      const float gy = gradient_y.row(row)[column];
      const float curved = curvature.row(row)[column];
      n[node] += valid.row(row)[column];
      x[node] += gx;
      y[node] += gy;
      xx[node] += gx * gx;
      xy[node] += gx * gy;
      yy[node] += gy * gy;
      c[node] += curved;
      cx[node] += curved * gx;
      cy[node] += curved * gy;
      cc[node] += curved * curved;
    }
  }
  std::vector<float> scratch;
  n_wide = n;
  wide.apply(n_wide, scratch);
  n_near = n;
  near.apply(n_near, scratch);
}

LevelBlurs::LevelBlurs(const std::vector<FieldLevel>& levels) {
  for (std::size_t i = 0; i < levels.size(); ++i) {
    const FieldLevel finer = i + 1 < levels.size() ? levels[i + 1] : FieldLevel{};
    const double more =
        std::sqrt(levels[i].blur_px * levels[i].blur_px - finer.blur_px * finer.blur_px);
    blurs_.emplace_back(more / finer.reduction, levels[i].reduction / finer.reduction);
  }
}

void LevelBlurs::apply(const PaddedFrame& frame, std::size_t first, Workspace& work) const {
  work.frames.resize(blurs_.size());
  const PaddedFrame* finer = &frame;
  for (std::size_t i = blurs_.size(); i-- > first;) {
    PaddedFrame& out = work.frames[i];
    blurs_[i].apply(finer->view(), work.blur, out.resize(blurs_[i].kept(finer->size())));
    out.repeat_edges();
    finer = &out;
  }
}

}  // namespace lull::align
