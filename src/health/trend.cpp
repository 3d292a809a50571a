#include "health/trend.h"

#include <algorithm>
#include <cmath>

#include "core/statistics.h"
#include "health/robust_line.h"

namespace lull::health {

namespace {

constexpr std::size_t kParts = 24;
constexpr std::size_t kFewestFrames = 2 * kParts;
constexpr double kMostLost = 0.1;

}  // namespace

std::optional<Trend> trend_of(const std::vector<quality::FrameRecord>& records) {
  std::vector<LinePoint> logs;  // against the position in the capture, 0 to 1
  std::vector<double> sharpness;
  for (const auto& record : records) {
    if (!record.usable()) continue;
    sharpness.push_back(record.sharpness);
    if (record.sharpness <= 0) continue;
    const FrameIndex first = records.front().index;
    const FrameIndex span = records.back().index - first + 1;
    logs.push_back({static_cast<double>(record.index - first) / static_cast<double>(span),
                    std::log(record.sharpness)});
  }
  const auto count = static_cast<double>(sharpness.size());
  if (sharpness.size() < kFewestFrames ||
      static_cast<double>(logs.size()) < (1 - kMostLost) * count)
    return std::nullopt;
  std::vector<LinePoint> parts;
  for (std::size_t p = 0; p < kParts; ++p) {
    const std::size_t from = p * logs.size() / kParts;
    const std::size_t to = (p + 1) * logs.size() / kParts;
    LinePoint mean;
    for (std::size_t i = from; i < to; ++i) {
      mean.x += logs[i].x / static_cast<double>(to - from);
      mean.y += logs[i].y / static_cast<double>(to - from);
    }
    parts.push_back(mean);
  }
  const auto line = robust_line(parts);
  std::sort(sharpness.begin(), sharpness.end());
  const double median = quantile_of_sorted(sharpness, 0.5);
  if (!line || median <= 0) return std::nullopt;
  Trend out;
  out.change = std::expm1(line->slope);
  out.change_low = std::expm1(line->slope_low);
  out.change_high = std::expm1(line->slope_high);
  out.significant = line->significant();
  out.best_over_median = sharpness.back() / median;
  const std::size_t tenth = std::max<std::size_t>(sharpness.size() / 10, 1);
  double sum = 0;
  for (std::size_t i = sharpness.size() - tenth; i < sharpness.size(); ++i) sum += sharpness[i];
  out.tenth_over_median = sum / static_cast<double>(tenth) / median;
  return out;
}

}  // namespace lull::health
