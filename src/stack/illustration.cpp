#include "stack/illustration.h"

#include <algorithm>

namespace lull::stack {

namespace {

constexpr std::size_t kMostShown = 64;  // fields over all candidates
constexpr int kMostPlaces = 18;         // along the longer side: more arrows cannot be told apart
constexpr int kMostSquares = 60;        // along the longer side
constexpr int kNodePx = align::ShiftField::kNodePx;

std::size_t sz(std::int64_t value) { return static_cast<std::size_t>(value); }

double node_middle(int node) { return node * kNodePx + 0.5 * (kNodePx - 1); }

bool holds(Size size, double x, double y) {
  return x >= 0 && y >= 0 && x <= size.width_px - 1 && y <= size.height_px - 1;
}

// Middles of equal squares that cover the box, in its own coordinates.
std::vector<Shift> places_over(const Box& box) {
  const int longer = std::max(box.width_px(), box.height_px());
  const double side = std::max(16.0, static_cast<double>(longer) / kMostPlaces);
  const int columns = std::max(1, static_cast<int>(box.width_px() / side));
  const int rows = std::max(1, static_cast<int>(box.height_px() / side));
  std::vector<Shift> places;
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < columns; ++c) {
      places.push_back(
          {(c + 0.5) * box.width_px() / columns - 0.5, (r + 0.5) * box.height_px() / rows - 0.5});
    }
  }
  return places;
}

}  // namespace

Illustrator::Illustrator(Size reference, std::size_t candidates)
    : grid_(reference),
      every_(std::max<std::size_t>(1, (candidates + kMostShown - 1) / kMostShown)) {
  so_far_.sum.assign(grid_.local_x.size(), 0);
  so_far_.squares.assign(grid_.local_x.size(), 0);
}

void Illustrator::add(std::size_t position, FrameIndex index, const align::ShiftField& field,
                      const std::vector<float>& weights, Size frame) {
  for (int r = 0; r < grid_.rows(); ++r) {
    for (int c = 0; c < grid_.columns(); ++c) {
      const std::size_t n = sz(r) * sz(grid_.columns()) + sz(c);
      const double x = node_middle(c) + field.whole.x_px + static_cast<double>(field.local_x[n]);
      const double y = node_middle(r) + field.whole.y_px + static_cast<double>(field.local_y[n]);
      if (!holds(frame, x, y)) continue;
      const auto weight = static_cast<double>(weights[n]);
      so_far_.sum[n] += weight;
      so_far_.squares[n] += weight * weight;
    }
  }
  if (position == 0) best_field_ = field;
  if (position % every_ == 0) shown_.push_back({position, index, field});
}

void Illustrator::mark() { marked_ = so_far_; }

Grid Illustrator::effective_frames(const Box& crop) const {
  Grid grid;
  const int longer = std::max(crop.width_px(), crop.height_px());
  grid.square_px = std::max(kNodePx, (longer + kMostSquares - 1) / kMostSquares);
  grid.columns = (crop.width_px() + grid.square_px - 1) / grid.square_px;
  grid.rows = (crop.height_px() + grid.square_px - 1) / grid.square_px;
  for (int r = 0; r < grid.rows; ++r) {
    for (int c = 0; c < grid.columns; ++c) {
      const auto node = [](double place, int count) {
        return std::clamp(static_cast<int>(place) / kNodePx, 0, count - 1);
      };
      const int y = std::min(crop.y0 + r * grid.square_px + grid.square_px / 2, crop.y1 - 1);
      const int x = std::min(crop.x0 + c * grid.square_px + grid.square_px / 2, crop.x1 - 1);
      const std::size_t n =
          sz(node(y, grid_.rows())) * sz(grid_.columns()) + sz(node(x, grid_.columns()));
      const double squares = marked_.squares[n];
      const double value = squares > 0 ? marked_.sum[n] * marked_.sum[n] / squares : 0;
      grid.values.push_back(static_cast<float>(value));
    }
  }
  return grid;
}

Illustration Illustrator::finish(const Box& crop, std::size_t kept) const {
  Illustration out;
  out.effective_frames = effective_frames(crop);
  out.places = places_over(crop);
  for (const Kept& frame : shown_) {
    if (frame.position >= kept) continue;
    Illustration::Displacement displacement{frame.index, {}};
    for (const Shift& place : out.places) {
      displacement.at.push_back(frame.field.at(place.x_px + crop.x0, place.y_px + crop.y0) -
                                frame.field.whole);
    }
    out.displacements.push_back(std::move(displacement));
  }
  std::sort(out.displacements.begin(), out.displacements.end(),
            [](const auto& a, const auto& b) { return a.index < b.index; });
  return out;
}

}  // namespace lull::stack
