#include "report/charts.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "core/statistics.h"

namespace lull::report {

namespace {

using nlohmann::json;

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

json drawing_json(const Plot& plot) {
  json series = json::array();
  for (const Plot::Series& s : plot.series) {
    series.push_back({{"name", s.name},
                      {"mark", s.mark},
                      {"colour", s.colour},
                      {"right", s.right},
                      {"ys", numbers(s.ys)}});
  }
  json marks = json::array();
  for (std::size_t i = 0; i < plot.marks.size(); ++i)
    marks.push_back({{"at", plot.marks[i].at}, {"name", plot.marks[i].name}, {"line", i}});
  json out = {{"kind", "plot"},
              {"x", {{"label", plot.x_label}}},
              {"y", {{"label", plot.y_label}, {"log", plot.log_y}}},
              {"xs", numbers(plot.xs)},
              {"series", series},
              {"marks", marks}};
  if (!plot.right_label.empty()) out["right"] = {{"label", plot.right_label}};
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

json to_json(const Chart& chart) {
  return std::visit([](const auto& drawing) { return drawing_json(drawing); }, chart.drawing);
}

}  // namespace lull::report
