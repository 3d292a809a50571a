#include "draw/plot.h"

#include <algorithm>
#include <cmath>

#include "core/assert.h"

namespace lull::draw {

namespace {

constexpr int kWantedTicks = 5;

double tick_step(double range) {
  const double rough = range / kWantedTicks;
  const double power = std::pow(10.0, std::floor(std::log10(rough)));
  for (const double factor : {1.0, 2.0, 5.0}) {
    // A hair more, for ranges that are a whole number of steps.
    if (factor * power * (1 + 1e-9) >= rough) return factor * power;
  }
  return 10 * power;
}

std::vector<double> linear_ticks(double low, double high) {
  const double step = tick_step(high - low);
  std::vector<double> ticks;
  const auto first = std::llround(std::ceil(low / step - 1e-9));
  const auto last = std::llround(std::floor(high / step + 1e-9));
  for (auto n = first; n <= last; ++n) ticks.push_back(static_cast<double>(n) * step);
  return ticks;
}

std::vector<double> logarithmic_ticks(double low, double high) {
  const bool few = std::log10(high / low) <= 3;
  std::vector<double> ticks;
  const auto first = std::lround(std::floor(std::log10(low)));
  const auto last = std::lround(std::ceil(std::log10(high)));
  for (auto n = first; n <= last; ++n) {
    for (const double factor : {1.0, 2.0, 5.0}) {
      if (factor > 1 && !few) continue;
      const double value = factor * std::pow(10.0, static_cast<double>(n));
      if (value >= low * (1 - 1e-9) && value <= high * (1 + 1e-9)) ticks.push_back(value);
    }
  }
  return ticks;
}

}  // namespace

PlotAxis axis_over(const std::string& label, double low, double high, PlotScale scale) {
  LULL_ASSERT(std::isfinite(low) && std::isfinite(high) && low <= high);
  if (scale == PlotScale::logarithmic) {
    return {label, low, high > low ? high : 10 * low, scale};
  }
  if (high == low) {
    const double room = low == 0 ? 1 : 0.5 * std::abs(low);
    low -= room;
    high += room;
  }
  PlotAxis axis{label, low, high, scale};
  // Ends that go on to a tick may widen the step, and then go on to another.
  for (double step = 0; step != tick_step(axis.high - axis.low);) {
    step = tick_step(axis.high - axis.low);
    axis.low = std::min(axis.low, step * std::floor(axis.low / step + 1e-9));
    axis.high = std::max(axis.high, step * std::ceil(axis.high / step - 1e-9));
  }
  return axis;
}

std::vector<double> plot_ticks(const PlotAxis& axis) {
  return axis.scale == PlotScale::linear ? linear_ticks(axis.low, axis.high)
                                         : logarithmic_ticks(axis.low, axis.high);
}

}  // namespace lull::draw
