#include "stack/illustration.h"

#include <algorithm>

namespace lull::stack {

namespace {

constexpr std::size_t kMostShown = 64;  // fields over all candidates
constexpr int kMostPlaces = 18;  // along the longer side: more arrows cannot be distinguished

// Centres of equal squares that cover the box, in its own coordinates.
std::vector<Displacement> places_over(const Box& box) {
  const int longer = std::max(box.width_px(), box.height_px());
  const double side = std::max(16.0, static_cast<double>(longer) / kMostPlaces);
  const int columns = std::max(1, static_cast<int>(box.width_px() / side));
  const int rows = std::max(1, static_cast<int>(box.height_px() / side));
  std::vector<Displacement> places;
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < columns; ++c) {
      places.push_back(
          {(c + 0.5) * box.width_px() / columns - 0.5, (r + 0.5) * box.height_px() / rows - 0.5});
    }
  }
  return places;
}

}  // namespace

Illustrator::Illustrator(std::size_t candidates)
    : every_(std::max<std::size_t>(1, (candidates + kMostShown - 1) / kMostShown)) {}

void Illustrator::add(std::size_t position, FrameIndex index, const align::ShiftField& field) {
  if (position == 0) best_field_ = field;
  if (position % every_ == 0) shown_.push_back({position, index, field});
}

Illustration Illustrator::finish(const Box& crop, std::size_t kept) const {
  Illustration out;
  out.places = places_over(crop);
  for (const Kept& frame : shown_) {
    if (frame.position >= kept) continue;
    Illustration::Movement movement{frame.index, {}};
    for (const Displacement& place : out.places) {
      const double x = place.x_px + crop.x0;
      const double y = place.y_px + crop.y0;
      movement.at.push_back(frame.field.at(x, y) - frame.field.rigid_at(x, y));
    }
    out.movements.push_back(std::move(movement));
  }
  std::sort(out.movements.begin(), out.movements.end(),
            [](const auto& a, const auto& b) { return a.index < b.index; });
  return out;
}

}  // namespace lull::stack
