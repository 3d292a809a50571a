#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

/// The description of a plot, for all that draw one: svg_plot.h as a file, the report as a chart of
/// its page.
namespace lull::draw {

/// A point of a plot, in the units of its axes. Points that are not finite are left out, and a
/// line breaks there.
struct PlotPoint {
  double x = 0;
  double y = 0;
};

/// Where a line breaks.
inline constexpr PlotPoint kLineBreak = {std::numeric_limits<double>::quiet_NaN(),
                                         std::numeric_limits<double>::quiet_NaN()};

enum class PlotScale { linear, logarithmic };

struct PlotRange {
  double low = 0;   ///< at the left or lower end; above 0 on a logarithmic axis
  double high = 1;  ///< above low
};

/// @see axis_over
struct PlotAxis {
  std::string label;  ///< what it is, and its unit
  PlotScale scale = PlotScale::linear;
  std::optional<PlotRange> range{};  ///< unset: over the points of its series
};

enum class PlotMark {
  line,
  dashed,
  dotted,
  dots,       ///< filled
  rings,      ///< open, not joined
  points,     ///< open, joined by a line
  steps,      ///< each value holds up to the next x
  area,       ///< steps, filled down to the axis
  reference,  ///< a thin grey line to compare with
};

/// Hues; each way to draw has its shades of them.
enum class PlotColour { blue, orange, green, gray };

/// The axis that values belong to.
enum class PlotSide { left, right };

struct PlotSeries {
  std::string name;  ///< for the legend
  std::vector<PlotPoint> points;
  PlotMark mark = PlotMark::line;
  std::optional<PlotColour> colour{};  ///< unset: the next one; references are grey
  PlotSide side = PlotSide::left;
};

/// A word at a place of the plot. The files of svg_plot.h alone show it.
struct PlotLabel {
  PlotPoint at{};  ///< its middle
  std::string text;
};

/// A line to compare with at one value of x, from the lower end to the upper.
struct VerticalLine {
  double x = 0;
  std::string name;
};

struct Plot {
  std::string title;
  PlotAxis x;
  PlotAxis y;
  std::vector<PlotSeries> series;
  std::vector<VerticalLine> vertical_lines{};
  std::optional<PlotAxis> right{};  ///< a second axis of y, for series of that side
  std::vector<PlotLabel> labels{};
};

/// Adds the sides of a polygon to a line, which breaks after them. @param corners  not empty.
void add_polygon(std::span<const PlotPoint> corners, std::vector<PlotPoint>& line);

/// Axis over all values from low to high: on a linear scale the ends go on to the next tick.
/// An empty range is widened. Logarithmic: low must be above 0.
[[nodiscard]] PlotAxis axis_over(const std::string& label, double low, double high,
                                 PlotScale scale = PlotScale::linear);

/// Gives each axis without a range one over the values that it can show, as axis_over has it.
[[nodiscard]] Plot with_ranges(Plot plot);

/// Values that an axis labels, rising: 1, 2 or 5 times a power of ten (common practice, no
/// source), on a logarithmic axis of more than three decades only the powers.
/// @param axis  has a range.
[[nodiscard]] std::vector<double> plot_ticks(const PlotAxis& axis);

/// How many series before this one take a colour: all but references.
[[nodiscard]] std::size_t coloured_before(const Plot& plot, std::size_t series);

}  // namespace lull::draw
