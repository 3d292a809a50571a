#include "health/steadiness.h"

#include <algorithm>
#include <cmath>
#include <span>

#include "core/statistics.h"

namespace lull::health {

namespace {

constexpr std::size_t kParts = 64;
constexpr std::size_t kFewestOfPart = 4;  // frames
constexpr std::size_t kFewestFrames = 48;
constexpr std::size_t kFewestParts = 3;  // on either side
constexpr std::size_t kBeside = 4;       // parts, on either side
constexpr double kLeastLight = 0.1;
constexpr double kLeastSharpness = 0.25;
constexpr double kLightScatters = 5;
constexpr double kSharpnessScatters = 3;  // the air scatters it by itself
constexpr double kSudden = 0.7;           // of the change, between neighbouring moments
constexpr double kTail = 0.05;            // quantile: the range leaves out as much at either end

struct Part {
  FrameIndex first = 0;
  double level = 0;
};

template <class Value>
std::vector<Part> parts_of(const std::vector<const quality::FrameRecord*>& frames, Value value) {
  const std::size_t count = std::min(kParts, frames.size() / kFewestOfPart);
  std::vector<Part> parts;
  for (std::size_t p = 0; p < count; ++p) {
    const std::size_t from = p * frames.size() / count;
    const std::size_t to = (p + 1) * frames.size() / count;
    std::vector<double> values;
    for (std::size_t i = from; i < to; ++i) values.push_back(value(*frames[i]));
    const double typical = median(std::move(values));
    parts.push_back({frames[from]->index, typical});
  }
  return parts;
}

std::vector<double> levels_of(std::span<const Part> parts) {
  std::vector<double> levels;
  for (const Part& part : parts) levels.push_back(part.level);
  return levels;
}

double median_of(std::span<const Part> parts) { return median(levels_of(parts)); }

double deviations(std::span<const Part> parts) {
  const double centre = median_of(parts);
  double sum = 0;
  for (const Part& part : parts) sum += std::abs(part.level - centre);
  return sum;
}

// First part behind the best cut; 0: too few parts.
std::size_t cut_of(std::span<const Part> parts) {
  std::size_t best = 0;
  double least = 0;
  for (std::size_t cut = kFewestParts; cut + kFewestParts <= parts.size(); ++cut) {
    const double sum = deviations(parts.first(cut)) + deviations(parts.subspan(cut));
    if (best > 0 && sum >= least) continue;
    best = cut;
    least = sum;
  }
  return best;
}

std::optional<Step> step_in(std::span<const Part> parts, double least, double scatters) {
  const std::size_t cut = cut_of(parts);
  if (cut == 0) return std::nullopt;
  const auto before = parts.first(cut);
  const auto after = parts.subspan(cut);
  const double from = median_of(before);
  const double to = median_of(after);
  const double change = to - from;
  const double beside = median_of(after.first(std::min(kBeside, after.size()))) -
                        median_of(before.last(std::min(kBeside, before.size())));
  const double scatter =
      std::max(sigma_about(levels_of(before), from), sigma_about(levels_of(after), to));
  if (!(from > 0 && to > 0) || std::abs(change) < least * std::max(from, to) ||
      std::abs(change) < scatters * scatter || beside / change < kSudden)
    return std::nullopt;
  return Step{after.front().first, change / from};
}

double spread_of(std::span<const Part> parts, const std::optional<Step>& step) {
  std::vector<double> levels = levels_of(parts);
  for (std::size_t i = 0; step && i < parts.size(); ++i) {
    if (parts[i].first >= step->from) levels[i] /= 1 + step->change;
  }
  std::sort(levels.begin(), levels.end());
  const double low = quantile_of_sorted(levels, kTail);
  return low > 0 ? quantile_of_sorted(levels, 1 - kTail) / low - 1 : 0;
}

}  // namespace

std::optional<Steadiness> steadiness_of(const std::vector<quality::FrameRecord>& records) {
  std::vector<const quality::FrameRecord*> usable;
  for (const auto& record : records) {
    if (record.usable()) usable.push_back(&record);
  }
  if (usable.size() < kFewestFrames) return std::nullopt;
  const auto light = parts_of(usable, [](const auto& record) { return record.brightness; });
  const auto sharpness = parts_of(usable, [](const auto& record) { return record.sharpness; });
  if (!(median_of(light) > 0)) return std::nullopt;
  Steadiness out;
  out.light = step_in(light, kLeastLight, kLightScatters);
  out.sharpness = step_in(sharpness, kLeastSharpness, kSharpnessScatters);
  out.light_spread = spread_of(light, out.light);
  return out;
}

}  // namespace lull::health
