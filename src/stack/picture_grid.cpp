#include "stack/picture_grid.h"

#include <algorithm>
#include <cmath>

#include "align/field_kernels.h"
#include "core/parallel.h"

namespace lull::stack {

namespace {

// Of two neighbouring nodes around a place, and how much the second counts.
struct Nodes {
  int first = 0;
  int second = 0;
  float share = 0;
};

Nodes around(double place_px, int count) {
  const int side = align::ShiftField::kNodePx;
  const double node = std::clamp((place_px + 0.5) / side - 0.5, 0.0, count - 1.0);
  const int first = std::min(static_cast<int>(node), std::max(count - 2, 0));
  return {first, std::min(first + 1, count - 1), static_cast<float>(node - first)};
}

}  // namespace

PictureGrid::PictureGrid(Size reference, double scale)
    : reference_(reference),
      scale_(scale),
      size_{static_cast<int>(std::floor(reference.width_px * scale)),
            static_cast<int>(std::floor(reference.height_px * scale))} {
  const int columns = align::ShiftField(reference).columns();
  for (int x = 0; x < size_.width_px; ++x) {
    const Nodes nodes = around(place(x), columns);
    places_.push_back(static_cast<float>(place(x)));
    left_.push_back(nodes.first);
    share_.push_back(nodes.share);
  }
}

Box PictureGrid::inside(const Box& area) const {
  const auto low = [&](int at) { return static_cast<int>(std::ceil(at * scale_)); };
  const auto high = [&](int at) { return static_cast<int>(std::floor(at * scale_)); };
  return {low(area.x0), low(area.y0), high(area.x1), high(area.y1)};
}

void PictureGrid::expand(const align::ShiftField& field, const std::vector<float>& nodes, int row,
                         std::vector<float>& out) const {
  if (scale_ == 1) {  // the same values, several times as fast
    out.resize(field.row_size());
    field.expand(nodes, row, out.data());
    return;
  }
  const int columns = field.columns();
  const Nodes down = around(place(row), field.rows());
  const float* first = nodes.data() + static_cast<std::ptrdiff_t>(down.first) * columns;
  const float* second = nodes.data() + static_cast<std::ptrdiff_t>(down.second) * columns;
  std::vector<float> line(static_cast<std::size_t>(columns) + 1);
  for (int c = 0; c < columns; ++c)
    line[static_cast<std::size_t>(c)] = first[c] + down.share * (second[c] - first[c]);
  line.back() = line[static_cast<std::size_t>(columns) - 1];
  out.resize(left_.size());
  for (std::size_t x = 0; x < out.size(); ++x) {
    const float* at = line.data() + left_[x];
    out[x] = at[0] + share_[x] * (at[1] - at[0]);
  }
}

void PictureGrid::coordinates(const align::ShiftField& field, int row, std::vector<float>& x,
                              std::vector<float>& y) const {
  if (scale_ == 1) {
    x.resize(field.row_size());
    y.resize(field.row_size());
    field.coordinates(row, x.data(), y.data());
    return;
  }
  expand(field, field.local_x, row, x);
  expand(field, field.local_y, row, y);
  if (field.turn != 0) {
    for (std::size_t i = 0; i < x.size(); ++i) {
      x[i] += places_[i];
      y[i] += static_cast<float>(place(row));
    }
    field.move(x.data(), y.data(), x.size());
    return;
  }
  const auto whole_x = static_cast<float>(field.whole.x_px);
  const auto at_y = static_cast<float>(field.whole.y_px + place(row));
  for (std::size_t i = 0; i < x.size(); ++i) {
    x[i] += places_[i] + whole_x;
    y[i] += at_y;
  }
}

Plane PictureGrid::enlarged(PlaneView plane) const {
  if (scale_ == 1) return Plane::copy_of(plane);
  align::PaddedFrame padded;
  padded.assign(plane);
  Plane out(size_);
  parallel_for(size_.height_px, [&](std::int64_t row) {
    const auto y = static_cast<int>(row);
    const std::vector<float> down(places_.size(), static_cast<float>(place(y)));
    align::kernels::sample_cubic()(padded.origin(), padded.stride_elems(), places_.data(),
                                   down.data(), size_.width_px, static_cast<float>(plane.width_px),
                                   static_cast<float>(plane.height_px), out.row(y));
  });
  return out;
}

}  // namespace lull::stack
