#include "calibrate/defects.h"

#include <algorithm>
#include <atomic>
#include <cmath>

#include "core/parallel.h"
#include "core/statistics.h"

namespace lull::calibrate {

namespace {

constexpr double kHotSigmas = 8.0;
constexpr float kColdPart = 0.5F;
/// Neighbourhoods reach this many same-colour pixels in each direction.
constexpr int kLocalReach = 2;
constexpr int kMendReach = 3;

/// Whether the predicate holds for more than half of the neighbours: a bound on their median
/// without sorting them.
template <class Predicate>
[[nodiscard]] bool most_neighbours(PlaneView plane, int x, int y, int step,
                                   const Predicate& predicate) {
  int seen = 0;
  int hits = 0;
  for (int dy = -kLocalReach; dy <= kLocalReach; ++dy) {
    const int ny = y + dy * step;
    if (ny < 0 || ny >= plane.height_px) continue;
    for (int dx = -kLocalReach; dx <= kLocalReach; ++dx) {
      const int nx = x + dx * step;
      if (nx < 0 || nx >= plane.width_px || (dx == 0 && dy == 0)) continue;
      ++seen;
      hits += predicate(plane.row(ny)[nx]) ? 1 : 0;
    }
  }
  return 2 * hits > seen;
}

/// Marks every pixel for which is_defect(x, y) holds; rows in parallel.
template <class IsDefect>
std::int64_t mark_where(Size size, DefectMask& mask, const IsDefect& is_defect) {
  std::atomic<std::int64_t> count{0};
  parallel_for(size.height_px, [&](std::int64_t row) {
    const auto y = static_cast<int>(row);
    std::int64_t in_row = 0;
    for (int x = 0; x < size.width_px; ++x) {
      if (!is_defect(x, y)) continue;
      mask.mark(x, y);
      ++in_row;
    }
    count += in_row;
  });
  return count;
}

/// Same-colour neighbours in units of the step, nearest first.
[[nodiscard]] std::vector<Repair::Offset> nearest_offsets() {
  std::vector<Repair::Offset> offsets;
  for (int y = -kMendReach; y <= kMendReach; ++y) {
    for (int x = -kMendReach; x <= kMendReach; ++x) {
      if (x == 0 && y == 0) continue;
      offsets.push_back({static_cast<std::int8_t>(x), static_cast<std::int8_t>(y)});
    }
  }
  std::ranges::stable_sort(offsets, {}, [](Repair::Offset o) { return o.x * o.x + o.y * o.y; });
  return offsets;
}

[[nodiscard]] Repair plan_one(const DefectMask& mask, int step, int x, int y,
                              std::span<const Repair::Offset> nearest) {
  Repair repair;
  repair.x = x;
  repair.y = y;
  for (const Repair::Offset offset : nearest) {
    const int dx = offset.x * step;
    const int dy = offset.y * step;
    const bool inside = x + dx >= 0 && x + dx < mask.size().width_px && y + dy >= 0 &&
                        y + dy < mask.size().height_px;
    if (!inside || mask.at(x + dx, y + dy)) continue;
    repair.offset[static_cast<std::size_t>(repair.sources++)] = {static_cast<std::int8_t>(dx),
                                                                 static_cast<std::int8_t>(dy)};
    if (repair.sources == 4) break;
  }
  return repair;
}

}  // namespace

RobustLevel robust_level(PlaneView plane) {
  std::vector<float> values;
  values.reserve(static_cast<std::size_t>(plane.size().area_px()));
  for (int y = 0; y < plane.height_px; ++y) {
    values.insert(values.end(), plane.row(y), plane.row(y) + plane.width_px);
  }
  const float centre = median(values);
  return {static_cast<double>(centre), sigma_about(std::move(values), centre)};
}

std::int64_t mark_hot(PlaneView dark, int step, double smallest_excess, DefectMask& mask) {
  const RobustLevel level = robust_level(dark);
  const auto excess = static_cast<float>(std::max(kHotSigmas * level.sigma, smallest_excess));
  const auto limit = static_cast<float>(level.median) + excess;
  return mark_where(dark.size(), mask, [&](int x, int y) {
    const float value = dark.row(y)[x];
    return value > limit && most_neighbours(dark, x, y, step, [&](float neighbour) {
             return neighbour < value - excess;
           });
  });
}

std::int64_t mark_cold(PlaneView flat_signal, int step, DefectMask& mask) {
  return mark_where(flat_signal.size(), mask, [&](int x, int y) {
    const float value = flat_signal.row(y)[x];
    return most_neighbours(flat_signal, x, y, step,
                           [&](float neighbour) { return value < kColdPart * neighbour; });
  });
}

std::vector<Repair> plan_repairs(const DefectMask& mask, int step) {
  const std::vector<Repair::Offset> nearest = nearest_offsets();
  std::vector<Repair> plan;
  for (int y = 0; y < mask.size().height_px; ++y) {
    for (int x = 0; x < mask.size().width_px; ++x) {
      if (mask.at(x, y)) plan.push_back(plan_one(mask, step, x, y, nearest));
    }
  }
  return plan;
}

template <class T>
void repair(std::span<const Repair> plan, std::type_identity_t<T> without, T* samples,
            std::ptrdiff_t stride_elems) {
  for (const Repair& one : plan) {
    T& target = samples[one.y * stride_elems + one.x];
    const auto count = static_cast<std::size_t>(one.sources);
    if (count == 0) {
      target = without;
      continue;
    }
    std::array<T, 4> values{};
    for (std::size_t i = 0; i < count; ++i) {
      values[i] = samples[(one.y + one.offset[i].y) * stride_elems + one.x + one.offset[i].x];
    }
    std::sort(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(count));
    const unsigned sum = values[(count - 1) / 2] + 0U + values[count / 2];
    target = static_cast<T>((sum + 1) / 2);
  }
}

template void repair(std::span<const Repair>, std::uint8_t, std::uint8_t*, std::ptrdiff_t);
template void repair(std::span<const Repair>, std::uint16_t, std::uint16_t*, std::ptrdiff_t);

}  // namespace lull::calibrate
