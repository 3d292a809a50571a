#include "stack/light_bounds.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lull::stack {

namespace {

constexpr int kRadiusPx = 6;        // farther than speckles and wrong shifts reach
constexpr double kNoises = 7;       // of a million samples of noise none lies beyond
constexpr float kSpanShare = 0.1F;  // of the scene's whole span: halos of bright parts
constexpr float kMost = std::numeric_limits<float>::infinity();

// The best of each neighbourhood, along x, then along y.
template <class Better>
Plane best_nearby(const Plane& from, Better better) {
  Plane across(from.size());
  for (int y = 0; y < from.height(); ++y) {
    for (int x = 0; x < from.width(); ++x) {
      float best = from.row(y)[x];
      for (int i = std::max(x - kRadiusPx, 0); i <= std::min(x + kRadiusPx, from.width() - 1); ++i)
        best = better(best, from.row(y)[i]);
      across.row(y)[x] = best;
    }
  }
  Plane out(from.size());
  for (int y = 0; y < from.height(); ++y) {
    std::copy_n(across.row(y), from.width(), out.row(y));
    for (int j = std::max(y - kRadiusPx, 0); j <= std::min(y + kRadiusPx, from.height() - 1); ++j) {
      for (int x = 0; x < from.width(); ++x)
        out.row(y)[x] = better(out.row(y)[x], across.row(j)[x]);
    }
  }
  return out;
}

// The reference where it holds data, elsewhere a value that stands for no bound.
Plane with(PlaneView reference, PlaneView valid, float otherwise) {
  Plane out = Plane::copy_of(reference);
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) {
      if (valid.row(y)[x] <= 0) out.row(y)[x] = otherwise;
    }
  }
  return out;
}

}  // namespace

LightBounds::LightBounds(PlaneView reference, PlaneView valid)
    : low_(best_nearby(with(reference, valid, -kMost),
                       [](float a, float b) { return std::min(a, b); })),
      high_(best_nearby(with(reference, valid, kMost),
                        [](float a, float b) { return std::max(a, b); })) {
  float least = kMost;
  float most = -kMost;
  for (int y = 0; y < reference.height_px; ++y) {
    for (int x = 0; x < reference.width_px; ++x) {
      if (valid.row(y)[x] <= 0) continue;
      least = std::min(least, reference.row(y)[x]);
      most = std::max(most, reference.row(y)[x]);
    }
  }
  span_ = std::max(most - least, 0.0F);
}

std::vector<Place> LightBounds::mend(align::PaddedFrame& frame, ColourFrame* colours,
                                     const align::ShiftField& field, double gain,
                                     double noise) const {
  const auto margin = kSpanShare * span_ + static_cast<float>(kNoises * noise * gain);
  const auto factor = static_cast<float>(gain);
  std::vector<Place> found;
  std::vector<float> x(field.row_size());
  std::vector<float> y(field.row_size());
  const Size size = frame.size();
  for (int row = 0; row < low_.height(); ++row) {
    field.coordinates(row, x.data(), y.data());
    const float* low = low_.row(row);
    const float* high = high_.row(row);
    for (int column = 0; column < low_.width(); ++column) {
      const auto at_x = static_cast<int>(std::lround(x[static_cast<std::size_t>(column)]));
      const auto at_y = static_cast<int>(std::lround(y[static_cast<std::size_t>(column)]));
      if (at_x < 0 || at_y < 0 || at_x >= size.width_px || at_y >= size.height_px) continue;
      const float light = factor * frame.view().row(at_y)[at_x];
      if (light <= high[column] + margin && light >= low[column] - margin) continue;
      const float bound = light > high[column] ? high[column] : low[column];
      frame.set(at_x, at_y, bound / factor);
      if (colours != nullptr && light > 0) colours->scale_at(at_x, at_y, bound / light);
      found.push_back({at_x, at_y});
    }
  }
  return found;
}

}  // namespace lull::stack
