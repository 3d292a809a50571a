#include "stack/outlier_bounds.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "align/field_kernels.h"
#include "core/neighbourhood.h"

namespace lull::stack {

namespace {

constexpr int kRadiusPx = 6;        // farther than speckles and wrong shifts reach
constexpr double kNoises = 7;       // exceeded by none of a million samples of noise
constexpr float kSpanShare = 0.2F;  // of the scene's whole span: halos, and a limb in poor air
constexpr int kReachPx = align::PaddedFrame::kPad;  // of the quick look
constexpr float kMost = std::numeric_limits<float>::infinity();

// The reference where it holds data, elsewhere a value that means no bound.
Plane with(PlaneView reference, PlaneView valid, float otherwise) {
  Plane out = Plane::copy_of(reference);
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) {
      if (valid.row(y)[x] <= 0) out.row(y)[x] = otherwise;
    }
  }
  return out;
}

// Whether the whole shift, rounded, leads to a sample within reach of the one nearest to its place.
bool within_reach(const align::ShiftField& field) {
  if (field.turn != 0) return false;
  const auto near = [](float local) { return std::abs(local) <= static_cast<float>(kReachPx - 1); };
  return std::all_of(field.local_x.begin(), field.local_x.end(), near) &&
         std::all_of(field.local_y.begin(), field.local_y.end(), near);
}

}  // namespace

OutlierBounds::OutlierBounds(PlaneView reference, PlaneView valid)
    : low_(lowest_nearby(with(reference, valid, -kMost), kRadiusPx)),
      high_(highest_nearby(with(reference, valid, kMost), kRadiusPx)) {
  narrow_low_.assign(highest_nearby(low_, kReachPx).view());
  narrow_high_.assign(lowest_nearby(high_, kReachPx).view());
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

std::vector<char> OutlierBounds::suspicious_rows(const align::PaddedFrame& frame,
                                                 const align::ShiftField& field, float factor,
                                                 float margin) const {
  const int width = low_.width();
  const int height = low_.height();
  if (!within_reach(field)) return std::vector<char>(static_cast<std::size_t>(height), 1);
  std::vector<char> suspicious(static_cast<std::size_t>(height), 0);
  const PlaneView samples = frame.view();
  const int right = static_cast<int>(std::lround(field.whole.x_px));
  const int down = static_cast<int>(std::lround(field.whole.y_px));
  const int first = std::max(-kReachPx, -right);
  const int count = std::min(width + kReachPx, samples.width_px - right) - first;
  const int top = std::max(-kReachPx, -down);
  const int bottom = std::min(height + kReachPx, samples.height_px - down);
  for (int y = top; y < bottom && count > 0; ++y) {
    int any = 0;
    align::kernels::any_beyond()(samples.row(y + down) + right + first,
                                 narrow_low_.view().row(y) + first,
                                 narrow_high_.view().row(y) + first, factor, margin, count, &any);
    if (any == 0) continue;
    const auto from = suspicious.begin() + std::clamp(y - kReachPx, 0, height);
    std::fill(from, suspicious.begin() + std::clamp(y + kReachPx + 1, 0, height), 1);
  }
  return suspicious;
}

std::vector<Place> OutlierBounds::repair(align::PaddedFrame& frame, ColourFrame* colours,
                                         const align::ShiftField& field, double gain,
                                         double noise) const {
  const auto margin = kSpanShare * span_ + static_cast<float>(kNoises * noise * gain);
  const auto factor = static_cast<float>(gain);
  const std::vector<char> suspicious = suspicious_rows(frame, field, factor, margin);
  std::vector<Place> found;
  for (int row = 0; row < low_.height(); ++row) {
    if (suspicious[static_cast<std::size_t>(row)] != 0)
      repair_row(row, frame, colours, field, factor, margin, found);
  }
  return found;
}

void OutlierBounds::repair_row(int row, align::PaddedFrame& frame, ColourFrame* colours,
                               const align::ShiftField& field, float factor, float margin,
                               std::vector<Place>& found) const {
  std::vector<float> x(field.row_size());
  std::vector<float> y(field.row_size());
  std::vector<int> outside(field.row_size());
  const PlaneView samples = frame.view();
  const int width = low_.width();
  field.coordinates(row, x.data(), y.data());
  const float* low = low_.row(row);
  const float* high = high_.row(row);
  int any = 0;
  align::kernels::outside_bounds()(samples.data, samples.stride_elems, x.data(), y.data(), low,
                                   high, factor, margin, static_cast<float>(samples.width_px),
                                   static_cast<float>(samples.height_px), width, outside.data(),
                                   &any);
  for (int column = 0; any != 0 && column < width; ++column) {
    const auto i = static_cast<std::size_t>(column);
    if (outside[i] == 0) continue;
    const auto at_x = static_cast<int>(x[i] + 0.5F);
    const auto at_y = static_cast<int>(y[i] + 0.5F);
    const float light = factor * samples.row(at_y)[at_x];
    // Another column may have repaired it.
    if (light <= high[column] + margin && light >= low[column] - margin) continue;
    const float bound = light > high[column] ? high[column] : low[column];
    frame.set(at_x, at_y, bound / factor);
    if (colours != nullptr && light > 0) colours->scale_at(at_x, at_y, bound / light);
    found.push_back({at_x, at_y});
  }
}

}  // namespace lull::stack
