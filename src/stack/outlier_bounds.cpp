#include "stack/outlier_bounds.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "align/field_kernels.h"
#include "core/neighbourhood.h"

namespace lull::stack {

namespace {

constexpr int kRadiusPx = 6;        // farther than speckles and wrong shifts reach
constexpr double kNoises = 7;       // exceeded by none of a million samples of noise
constexpr float kSpanShare = 0.2F;  // of the scene's whole span: halos, and a limb in poor air
constexpr int kReachPx = align::PaddedFrame::kPad;  // of the quick look
constexpr int kPartPx = 64;                         // side of what is looked at together
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

// Middle and half of the range of the nodes that a part's local shifts lie between, along one axis.
struct Range {
  float middle = 0;
  float half = 0;
};

Range range_in(const Box& part, const align::ShiftField& field, const std::vector<float>& nodes) {
  constexpr int kNode = align::ShiftField::kNodePx;
  const auto first = [](int px) { return std::max(px / kNode - 1, 0); };
  const auto last = [](int px, int count) { return std::min((px - 1) / kNode + 1, count - 1); };
  float low = kMost;
  float high = -kMost;
  for (int r = first(part.y0); r <= last(part.y1, field.rows()); ++r) {
    const float* row = nodes.data() + static_cast<std::ptrdiff_t>(r) * field.columns();
    for (int c = first(part.x0); c <= last(part.x1, field.columns()); ++c) {
      low = std::min(low, row[c]);
      high = std::max(high, row[c]);
    }
  }
  return {0.5F * (low + high), 0.5F * (high - low)};
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

bool OutlierBounds::suspicious(const Box& part, const Seen& seen) const {
  const align::ShiftField& field = seen.field;
  if (field.turn != 0) return true;
  const Range x = range_in(part, field, field.local_x);
  const Range y = range_in(part, field, field.local_y);
  // Half a pixel by rounding the middle, and half by taking the nearest sample.
  if (!(std::max(x.half, y.half) <= kReachPx - 1)) return true;
  const PlaneView samples = seen.frame.view();
  const auto right =
      static_cast<int>(std::lround(field.whole.x_px + static_cast<double>(x.middle)));
  const auto down = static_cast<int>(std::lround(field.whole.y_px + static_cast<double>(y.middle)));
  const int from = std::max(part.x0 - kReachPx, -right);
  const int count = std::min(part.x1 + kReachPx, samples.width_px - right) - from;
  const int top = std::max(part.y0 - kReachPx, -down);
  const int bottom = std::min(part.y1 + kReachPx, samples.height_px - down);
  int any = 0;
  for (int row = top; row < bottom && count > 0 && any == 0; ++row) {
    align::kernels::any_beyond()(
        samples.row(row + down) + right + from, narrow_low_.view().row(row) + from,
        narrow_high_.view().row(row) + from, seen.factor, seen.margin, count, &any);
  }
  return any != 0;
}

std::vector<Place> OutlierBounds::repair(align::PaddedFrame& frame, ColourFrame* colours,
                                         const align::ShiftField& field, double gain,
                                         double noise) const {
  const auto margin = kSpanShare * span_ + static_cast<float>(kNoises * noise * gain);
  const Seen seen{frame, colours, field, static_cast<float>(gain), margin};
  Row at;
  std::vector<Place> found;
  for (int top = 0; top < low_.height(); top += kPartPx) {
    const int bottom = std::min(top + kPartPx, low_.height());
    std::vector<std::pair<int, int>> columns;
    for (int left = 0; left < low_.width(); left += kPartPx) {
      const int right = std::min(left + kPartPx, low_.width());
      if (suspicious({left, top, right, bottom}, seen)) columns.emplace_back(left, right);
    }
    if (columns.empty()) continue;
    for (auto* row : {&at.x, &at.y}) row->resize(field.row_size());
    at.outside.resize(field.row_size());
    for (int row = top; row < bottom; ++row) {
      field.coordinates(row, at.x.data(), at.y.data());
      for (const auto& [from, to] : columns) repair(row, from, to, seen, at, found);
    }
  }
  return found;
}

void OutlierBounds::repair(int row, int from, int to, const Seen& seen, Row& at,
                           std::vector<Place>& found) const {
  const PlaneView samples = seen.frame.view();
  const float* low = low_.row(row);
  const float* high = high_.row(row);
  int any = 0;
  align::kernels::outside_bounds()(
      samples.data, samples.stride_elems, at.x.data() + from, at.y.data() + from, low + from,
      high + from, seen.factor, seen.margin, static_cast<float>(samples.width_px),
      static_cast<float>(samples.height_px), to - from, at.outside.data() + from, &any);
  for (int column = from; any != 0 && column < to; ++column) {
    const auto i = static_cast<std::size_t>(column);
    if (at.outside[i] == 0) continue;
    const auto at_x = static_cast<int>(at.x[i] + 0.5F);
    const auto at_y = static_cast<int>(at.y[i] + 0.5F);
    const float light = seen.factor * samples.row(at_y)[at_x];
    // Another column may have repaired it.
    if (light <= high[column] + seen.margin && light >= low[column] - seen.margin) continue;
    const float bound = light > high[column] ? high[column] : low[column];
    seen.frame.set(at_x, at_y, bound / seen.factor);
    if (seen.colours != nullptr && light > 0) seen.colours->scale_at(at_x, at_y, bound / light);
    found.push_back({at_x, at_y});
  }
}

}  // namespace lull::stack
