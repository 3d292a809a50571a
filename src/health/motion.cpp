#include "health/motion.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/statistics.h"

namespace lull::health {

namespace {

constexpr std::size_t kMostPoints = 400;
const double kRayleighMedian = std::sqrt(2 * std::numbers::ln2);  // of one component's sigma

}  // namespace

double Motion::drift() const { return std::hypot(x.slope, y.slope); }

double tracked_step_px(const std::vector<quality::FrameRecord>& records) {
  std::vector<double> steps;
  const quality::FrameRecord* before = nullptr;
  for (const auto& record : records) {
    if (!record.usable()) continue;
    if (before != nullptr) {
      const FrameOffset step = record.offset - before->offset;
      steps.push_back(std::hypot(step.x_px, step.y_px));
    }
    before = &record;
  }
  return steps.empty() ? 0 : quantile(std::move(steps), 0.5);
}

std::optional<Motion> motion_of(const std::vector<quality::FrameRecord>& records,
                                const std::vector<double>& steps_px, DriftUnit unit) {
  std::vector<const quality::FrameRecord*> used;
  for (const auto& record : records) {
    if (record.usable()) used.push_back(&record);
  }
  std::vector<LinePoint> x;
  std::vector<LinePoint> y;
  const std::size_t points = std::min(used.size(), kMostPoints);
  for (std::size_t i = 0; i < points; ++i) {
    const auto& record = *used[i * used.size() / points];
    const double at =
        unit == DriftUnit::px_per_s ? record.time_s : static_cast<double>(record.index);
    x.push_back({at, record.offset.x_px});
    y.push_back({at, record.offset.y_px});
  }
  const auto line_x = robust_line(x);
  const auto line_y = robust_line(y);
  if (!line_x || !line_y) return std::nullopt;
  Motion out;
  out.x = *line_x;
  out.y = *line_y;
  out.unit = unit;
  FrameOffset low = used.front()->offset;
  FrameOffset high = low;
  for (const auto* record : used) {
    const FrameOffset at = record->offset;
    low = {std::min(low.x_px, at.x_px), std::min(low.y_px, at.y_px)};
    high = {std::max(high.x_px, at.x_px), std::max(high.y_px, at.y_px)};
  }
  out.range = (high - low).displacement();
  out.tracked_step_px = tracked_step_px(records);
  if (!steps_px.empty())
    out.jitter_px = quantile(steps_px, 0.5) / kRayleighMedian * std::numbers::sqrt2;
  return out;
}

}  // namespace lull::health
