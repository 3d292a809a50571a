#include "health/timing.h"

#include <algorithm>
#include <cmath>

#include "core/statistics.h"

namespace lull::health {

namespace {

constexpr double kStampRoundingS = 1.0e-3;
constexpr double kNearTypical = 0.5;  // of an interval

struct Step {
  double begin_s = 0;
  double length_s = 0;
  double frames = 1;  ///< by their indices
};

// Between the last frame of a capture and the first of the next there may be any pause.
bool between_captures(const Step& step, const std::vector<double>& later_begins_s) {
  const double end_s = step.begin_s + step.length_s;
  return std::any_of(later_begins_s.begin(), later_begins_s.end(), [&](double begin_s) {
    return std::min(step.begin_s, end_s) < begin_s + kStampRoundingS &&
           begin_s <= std::max(step.begin_s, end_s);
  });
}

std::vector<Step> steps_of(const std::vector<quality::FrameRecord>& records,
                           const std::vector<double>& later_begins_s) {
  std::vector<Step> steps;
  const quality::FrameRecord* before = nullptr;
  for (const auto& record : records) {
    // The survey knows no time of a frame that could not be decoded.
    if (record.reject == Reject::damaged && record.time_s <= 0) continue;
    if (before != nullptr) {
      const Step step{before->time_s, record.time_s - before->time_s,
                      static_cast<double>(record.index - before->index)};
      if (!between_captures(step, later_begins_s)) steps.push_back(step);
    }
    before = &record;
  }
  return steps;
}

// Rounded stamps of fast captures differ by whole milliseconds only: the mean of what is near the
// median is finer than the median.
double typical_interval(const std::vector<Step>& steps) {
  std::vector<double> lengths;
  lengths.reserve(steps.size());
  for (const Step& step : steps) lengths.push_back(step.length_s / step.frames);
  const double median = quantile(std::move(lengths), 0.5);
  const double near = std::max(kNearTypical * median, kStampRoundingS * 1.01);
  double time = 0;
  double frames = 0;
  for (const Step& step : steps) {
    if (std::abs(step.length_s - step.frames * median) > near) continue;
    time += step.length_s;
    frames += step.frames;
  }
  return frames > 0 ? time / frames : median;
}

}  // namespace

std::optional<Timing> timing_of(const std::vector<quality::FrameRecord>& records,
                                const std::vector<double>& later_begins_s) {
  const std::vector<Step> steps = steps_of(records, later_begins_s);
  if (steps.size() < 2) return std::nullopt;
  Timing out;
  out.interval_s = typical_interval(steps);
  if (out.interval_s <= 0) return std::nullopt;
  out.duration_s =
      steps.back().begin_s + steps.back().length_s - steps.front().begin_s + out.interval_s;
  out.too_coarse = out.interval_s < 2 * kStampRoundingS;
  const double late = std::max(kNearTypical * out.interval_s, kStampRoundingS * 1.01);
  std::vector<double> deviations;
  for (const Step& step : steps) {
    const double excess = step.length_s - step.frames * out.interval_s;
    out.backwards = out.backwards || step.length_s <= 0;
    if (excess <= late) {
      deviations.push_back(std::abs(excess) / out.interval_s);
      continue;
    }
    ++out.gaps;
    out.missing_frames += std::max<std::int64_t>(1, std::llround(excess / out.interval_s));
    if (step.length_s > out.longest_gap_s) {
      out.longest_gap_s = step.length_s;
      out.longest_gap_at_s = step.begin_s;
    }
  }
  out.unevenness = quantile(std::move(deviations), 0.95);
  return out;
}

}  // namespace lull::health
