#include "draw/plot.h"

#include <algorithm>
#include <cmath>
#include <limits>

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

// Of the values that an axis can show; nothing if there are none.
class Extent {
 public:
  explicit Extent(PlotScale scale) : scale_(scale) {}

  void add(double value) {
    if (!std::isfinite(value) || (scale_ == PlotScale::logarithmic && value <= 0)) return;
    low_ = std::min(low_, value);
    high_ = std::max(high_, value);
  }

  [[nodiscard]] PlotAxis axis(const std::string& label) const {
    if (low_ <= high_) return axis_over(label, low_, high_, scale_);
    const double anywhere = scale_ == PlotScale::linear ? 0 : 1;
    return axis_over(label, anywhere, anywhere, scale_);
  }

 private:
  PlotScale scale_;
  double low_ = std::numeric_limits<double>::infinity();
  double high_ = -std::numeric_limits<double>::infinity();
};

template <class Add>
void give_range(PlotAxis& axis, const Plot& plot, const Add& add) {
  if (axis.range) return;
  Extent extent(axis.scale);
  for (const PlotSeries& series : plot.series) add(series, extent);
  axis = extent.axis(axis.label);
}

auto values_on(PlotSide side) {
  return [side](const PlotSeries& series, Extent& extent) {
    if (series.side != side) return;
    for (const PlotPoint& point : series.points) extent.add(point.y);
  };
}

}  // namespace

void add_polygon(std::span<const PlotPoint> corners, std::vector<PlotPoint>& line) {
  line.insert(line.end(), corners.begin(), corners.end());
  line.push_back(corners.front());
  line.push_back(kLineBreak);
}

PlotAxis axis_over(const std::string& label, double low, double high, PlotScale scale) {
  LULL_ASSERT(std::isfinite(low) && std::isfinite(high) && low <= high);
  if (scale == PlotScale::logarithmic)
    return {label, scale, PlotRange{low, high > low ? high : 10 * low}};
  if (high == low) {
    const double room = low == 0 ? 1 : 0.5 * std::abs(low);
    low -= room;
    high += room;
  }
  // Ends that go on to a tick may widen the step, and then go on to another.
  for (double step = 0; step != tick_step(high - low);) {
    step = tick_step(high - low);
    low = std::min(low, step * std::floor(low / step + 1e-9));
    high = std::max(high, step * std::ceil(high / step - 1e-9));
  }
  return {label, scale, PlotRange{low, high}};
}

Plot with_ranges(Plot plot) {
  give_range(plot.x, plot, [](const PlotSeries& series, Extent& extent) {
    for (const PlotPoint& point : series.points) extent.add(point.x);
  });
  give_range(plot.y, plot, values_on(PlotSide::left));
  if (plot.right) give_range(*plot.right, plot, values_on(PlotSide::right));
  return plot;
}

std::vector<double> plot_ticks(const PlotAxis& axis) {
  LULL_ASSERT(axis.range.has_value());
  const auto [low, high] = *axis.range;
  return axis.scale == PlotScale::linear ? linear_ticks(low, high) : logarithmic_ticks(low, high);
}

std::size_t coloured_before(const Plot& plot, std::size_t series) {
  const auto begin = plot.series.begin();
  return static_cast<std::size_t>(
      std::count_if(begin, begin + static_cast<std::ptrdiff_t>(series),
                    [](const PlotSeries& s) { return s.mark != PlotMark::reference; }));
}

}  // namespace lull::draw
