#include "draw/plot_table.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lull::draw {

namespace {

std::vector<PlotPoint> by_x(const PlotSeries& series) {
  std::vector<PlotPoint> points;
  points.reserve(series.points.size());
  for (const PlotPoint& point : series.points) {
    if (std::isfinite(point.x)) points.push_back(point);
  }
  std::stable_sort(points.begin(), points.end(),
                   [](const PlotPoint& a, const PlotPoint& b) { return a.x < b.x; });
  return points;
}

}  // namespace

PlotTable table_of(const Plot& plot) {
  std::vector<std::vector<PlotPoint>> rising;
  for (const PlotSeries& series : plot.series) rising.push_back(by_x(series));
  PlotTable table;
  table.ys.resize(rising.size());
  std::vector<std::size_t> next(rising.size(), 0);
  for (;;) {
    double x = std::numeric_limits<double>::infinity();
    for (std::size_t s = 0; s < rising.size(); ++s) {
      if (next[s] < rising[s].size()) x = std::min(x, rising[s][next[s]].x);
    }
    if (!std::isfinite(x)) return table;
    table.xs.push_back(x);
    for (std::size_t s = 0; s < rising.size(); ++s) {
      const bool has_point = next[s] < rising[s].size() && rising[s][next[s]].x == x;
      table.ys[s].push_back(has_point ? std::optional(rising[s][next[s]++].y) : std::nullopt);
    }
  }
}

}  // namespace lull::draw
