#pragma once

#include <string>
#include <vector>

namespace lull::draw {

/// A point of a plot, in the units of its axes. Points that are not finite are left out, and a
/// line breaks there.
struct PlotPoint {
  double x = 0;
  double y = 0;
};

enum class PlotScale { linear, logarithmic };

/// @see axis_over
struct PlotAxis {
  std::string label;  ///< what it is, and its unit
  double low = 0;     ///< at the left or lower end; above 0 on a logarithmic axis
  double high = 1;    ///< above low
  PlotScale scale = PlotScale::linear;
};

enum class PlotMark {
  line,
  dots,
  reference,  ///< a thin grey line to compare with
};

struct PlotSeries {
  std::string name;  ///< for the legend
  std::vector<PlotPoint> points;
  PlotMark mark = PlotMark::line;
};

struct Plot {
  std::string title;
  PlotAxis x;
  PlotAxis y;
  std::vector<PlotSeries> series;  ///< lines differ in colour and dashes, up to 8 of them
};

/// Axis over all values from low to high: on a linear scale the ends go on to the next tick.
/// An empty range is widened. Logarithmic: low must be above 0.
[[nodiscard]] PlotAxis axis_over(const std::string& label, double low, double high,
                                 PlotScale scale = PlotScale::linear);

/// Values that an axis labels, rising: 1, 2 or 5 times a power of ten (common practice, no
/// source), on a logarithmic axis of more than three decades only the powers.
[[nodiscard]] std::vector<double> plot_ticks(const PlotAxis& axis);

}  // namespace lull::draw
