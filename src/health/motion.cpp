#include "health/motion.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "health/quantile.h"

namespace lull::health {

namespace {

constexpr std::size_t kMostPoints = 400;
const double kRayleighMedian = std::sqrt(2 * std::numbers::ln2);  // of one component's sigma

}  // namespace

double Motion::drift() const { return std::hypot(x.slope, y.slope); }

std::optional<Motion> motion_of(const std::vector<quality::FrameRecord>& records, bool timed) {
  std::vector<const quality::FrameRecord*> used;
  for (const auto& record : records) {
    if (record.usable()) used.push_back(&record);
  }
  std::vector<LinePoint> x;
  std::vector<LinePoint> y;
  const std::size_t points = std::min(used.size(), kMostPoints);
  for (std::size_t i = 0; i < points; ++i) {
    const auto& record = *used[i * used.size() / points];
    const double at = timed ? record.time_s : static_cast<double>(record.index);
    x.push_back({at, record.shift.x_px});
    y.push_back({at, record.shift.y_px});
  }
  const auto line_x = robust_line(x);
  const auto line_y = robust_line(y);
  if (!line_x || !line_y) return std::nullopt;
  Motion out{*line_x, *line_y, 0, {}, timed};
  std::vector<double> steps;
  Shift low = used.front()->shift;
  Shift high = low;
  for (std::size_t i = 0; i < used.size(); ++i) {
    const Shift at = used[i]->shift;
    low = {std::min(low.x_px, at.x_px), std::min(low.y_px, at.y_px)};
    high = {std::max(high.x_px, at.x_px), std::max(high.y_px, at.y_px)};
    if (i == 0 || used[i]->index != used[i - 1]->index + 1) continue;
    const Shift step = at - used[i - 1]->shift;
    steps.push_back(std::hypot(step.x_px, step.y_px));
  }
  out.range = high - low;
  out.jitter_px = quantile(std::move(steps), 0.5) / kRayleighMedian * std::numbers::sqrt2;
  return out;
}

}  // namespace lull::health
