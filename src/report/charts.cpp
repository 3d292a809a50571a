#include "report/charts.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <nlohmann/json.hpp>

#include "core/statistics.h"
#include "draw/plot_table.h"

namespace lull::report {

namespace {

using draw::Plot;
using draw::PlotAxis;
using draw::PlotMark;
using draw::PlotScale;
using draw::PlotSeries;
using draw::PlotSide;
using nlohmann::json;

// In the order of draw::PlotColour.
constexpr std::array<const char*, 4> kColours = {"blue", "orange", "green", "gray"};

constexpr double kArrowShare = 0.7;  // of the distance of the places: a typical long arrow

// Fewer digits, smaller page. A division gives the double that is printed with these digits.
double rounded(double value, double steps_per_unit) {
  return std::round(value * steps_per_unit) / steps_per_unit;
}

json number(double value) {
  if (!std::isfinite(value)) return nullptr;
  if (value == 0) return 0;
  // Five digits are more than a chart can show.
  const double steps = std::pow(10.0, 4 - std::floor(std::log10(std::abs(value))));
  return rounded(value, steps);
}

json pair(Displacement shift) { return {rounded(shift.x_px, 1000), rounded(shift.y_px, 1000)}; }

json numbers(const std::vector<double>& values) {
  json out = json::array();
  for (const double value : values) out.push_back(number(value));
  return out;
}

const char* mark_name(PlotMark mark) {
  switch (mark) {
    case PlotMark::line:
      return "line";
    case PlotMark::dashed:
      return "dashed";
    case PlotMark::dotted:
      return "dotted";
    case PlotMark::dots:
      return "dots";
    case PlotMark::rings:
      return "rings";
    case PlotMark::points:
      return "points";
    case PlotMark::steps:
      return "steps";
    case PlotMark::area:
      return "area";
    case PlotMark::reference:
      break;
  }
  return "reference";
}

json axis_json(const PlotAxis& axis) {
  json out = {{"label", axis.label},
              {"scale", axis.scale == PlotScale::linear ? "linear" : "logarithmic"}};
  if (axis.range) out["range"] = {axis.range->low, axis.range->high};
  return out;
}

// null: the line breaks here; false: the series has no point here.
json values_json(const std::vector<std::optional<double>>& values) {
  json out = json::array();
  for (const auto& value : values) out.push_back(value ? number(*value) : json(false));
  return out;
}

json drawing_json(const Plot& plot) {
  const draw::PlotTable table = draw::table_of(plot);
  json series = json::array();
  for (std::size_t i = 0; i < plot.series.size(); ++i) {
    const PlotSeries& shown = plot.series[i];
    series.push_back({{"name", shown.name},
                      {"mark", mark_name(shown.mark)},
                      {"colour", colour_variable(plot, i)},
                      {"side", shown.side == PlotSide::left ? "left" : "right"},
                      {"ys", values_json(table.ys[i])}});
  }
  json lines = json::array();
  for (const auto& line : plot.vertical_lines)
    lines.push_back({{"x", line.x}, {"name", line.name}});
  json out = {{"kind", "plot"},          {"x", axis_json(plot.x)}, {"y", axis_json(plot.y)},
              {"xs", numbers(table.xs)}, {"series", series},       {"lines", lines}};
  if (plot.right) out["right"] = axis_json(*plot.right);
  return out;
}

json drawing_json(const Track& track) {
  json points = json::array();
  for (const Displacement& point : track.points) points.push_back(pair(point));
  return {{"kind", "track"}, {"points", points}};
}

// Length that one displacement in twenty exceeds, px.
double long_displacement(const Arrows& arrows) {
  std::vector<double> lengths;
  for (const auto& frame : arrows.frames) {
    for (const FrameOffset& at : frame.at) lengths.push_back(std::hypot(at.x_px, at.y_px));
  }
  return quantile(std::move(lengths), 0.95);
}

json drawing_json(const Arrows& arrows) {
  json places = json::array();
  for (const Displacement& place : arrows.places) places.push_back(pair(place));
  json frames = json::array();
  for (const auto& frame : arrows.frames) {
    json at = json::array();
    for (const FrameOffset& offset : frame.at) at.push_back(pair(offset.displacement()));
    frames.push_back({{"index", frame.index}, {"at", at}});
  }
  const double typical = std::max(long_displacement(arrows), 0.01);
  const double area = static_cast<double>(arrows.picture.area_px()) /
                      std::max<double>(1, static_cast<double>(arrows.places.size()));
  return {{"kind", "arrows"},
          {"width", arrows.picture.width_px},
          {"height", arrows.picture.height_px},
          {"arrow", kArrowShare * std::sqrt(area) / typical},
          {"typical", typical},
          {"places", places},
          {"frames", frames}};
}

json drawing_json(const Map& map) {
  json values = json::array();
  for (const float value : map.values) values.push_back(rounded(static_cast<double>(value), 100));
  return {{"kind", "map"},  {"columns", map.columns}, {"rows", map.rows},
          {"low", map.low}, {"high", map.high},       {"values", values}};
}

}  // namespace

const std::string& Chart::title() const {
  return std::visit([](const auto& shown) -> const std::string& { return shown.title; }, drawing);
}

std::string colour_variable(const Plot& plot, std::size_t series) {
  const PlotSeries& shown = plot.series[series];
  if (shown.mark == PlotMark::reference) return "soft";
  const std::size_t place =
      shown.colour ? static_cast<std::size_t>(*shown.colour) : draw::coloured_before(plot, series);
  return kColours[place % kColours.size()];
}

json to_json(const Chart& chart) {
  return std::visit([](const auto& drawing) { return drawing_json(drawing); }, chart.drawing);
}

}  // namespace lull::report
