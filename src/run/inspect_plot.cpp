#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/statistics.h"
#include "draw/svg_plot.h"
#include "run/inspect_outcome.h"

namespace lull::run {

namespace {

using draw::Plot;
using draw::PlotColour;
using draw::PlotMark;
using draw::PlotPoint;
using draw::PlotScale;

constexpr std::size_t kMostBars = 256;
constexpr std::size_t kMostPoints = 2000;  // of one series: a longer capture is thinned evenly

Plot levels_plot(const health::Exposure& exposure) {
  static constexpr const char* kRgb[] = {"red", "green", "blue"};
  constexpr std::array kRgbMarks = {PlotMark::dashed, PlotMark::line, PlotMark::dotted};
  // The palette has no red.
  constexpr std::array kRgbColours = {PlotColour::orange, PlotColour::green, PlotColour::blue};
  Plot plot;
  plot.title = "Levels of the samples";
  double most = 0;
  for (std::size_t c = 0; c < exposure.counts.size(); ++c) {
    const auto& counts = exposure.counts[c];
    double total = 0;
    for (const std::int64_t n : counts) total += static_cast<double>(n);
    const std::size_t group = std::max<std::size_t>(counts.size() / kMostBars, 1);
    std::vector<PlotPoint> points;
    for (std::size_t from = 0; from < counts.size(); from += group) {
      double sum = 0;
      const std::size_t to = std::min(from + group, counts.size());
      for (std::size_t level = from; level < to; ++level) sum += static_cast<double>(counts[level]);
      const double share = total > 0 ? 100 * sum / total : 0;
      most = std::max(most, share);
      points.push_back(
          {100 * static_cast<double>(from) / static_cast<double>(counts.size() - 1), share});
    }
    if (exposure.counts.size() == 3) {
      plot.series.push_back({kRgb[c], std::move(points), kRgbMarks[c], kRgbColours[c]});
    } else {
      plot.series.push_back({"light", std::move(points)});
    }
  }
  // A logarithmic axis has no place for none.
  constexpr double kLeast = 1e-4;
  for (auto& series : plot.series) {
    for (PlotPoint& point : series.points) point.y = std::max(point.y, kLeast);
  }
  plot.x = draw::axis_over("level, % of full scale", 0, 100);
  plot.y =
      draw::axis_over("samples, %", kLeast, std::max(most, 10 * kLeast), PlotScale::logarithmic);
  return plot;
}

// Time of a record, or its index where the capture has no time.
double place_in_time(const InspectOutcome& outcome, const quality::FrameRecord& record) {
  return outcome.health.timing ? record.time_s : static_cast<double>(record.index);
}

std::vector<const quality::FrameRecord*> thinned(const survey::Survey& survey) {
  std::vector<const quality::FrameRecord*> used;
  for (const auto& record : survey.records) {
    if (record.usable()) used.push_back(&record);
  }
  if (used.size() <= kMostPoints) return used;
  std::vector<const quality::FrameRecord*> out;
  for (std::size_t i = 0; i < kMostPoints; ++i) out.push_back(used[i * used.size() / kMostPoints]);
  return out;
}

std::string time_label(const InspectOutcome& outcome) {
  return outcome.health.timing ? "time, s" : "frame";
}

Plot sharpness_plot(const InspectOutcome& outcome) {
  Plot plot;
  plot.title = "Sharpness over time";
  const auto records = thinned(outcome.health.survey);
  std::vector<double> values;
  values.reserve(records.size());
  for (const auto* record : records) values.push_back(record->sharpness);
  const double typical = values.empty() ? 1 : upper_median(std::move(values));
  const double median = typical > 0 ? typical : 1;
  std::vector<PlotPoint> frames;
  frames.reserve(records.size());
  for (const auto* record : records)
    frames.push_back({place_in_time(outcome, *record), record->sharpness / median});
  if (outcome.health.trend && !frames.empty()) {
    // The line of the trend, through the centre of the frames.
    const double growth = std::log1p(outcome.health.trend->change);
    std::vector<PlotPoint> line;
    for (const double at : {-0.5, -0.25, 0.0, 0.25, 0.5}) {
      const double x = frames.front().x + (at + 0.5) * (frames.back().x - frames.front().x);
      line.push_back({x, std::exp(growth * at)});
    }
    plot.series.push_back({"frames", std::move(frames), PlotMark::dots});
    plot.series.push_back({fmt::format("trend {:+.0f}%{}", 100 * outcome.health.trend->change,
                                       outcome.health.trend->significant ? "" : ", not proven"),
                           std::move(line)});
  } else {
    plot.series.push_back({"frames", std::move(frames), PlotMark::dots});
  }
  plot.x.label = time_label(outcome);
  plot.y.label = "sharpness over that of the median frame";
  return plot;
}

Plot path_plot(const InspectOutcome& outcome) {
  Plot plot;
  plot.title = "Path of the object";
  std::vector<PlotPoint> x;
  std::vector<PlotPoint> y;
  for (const auto* record : thinned(outcome.health.survey)) {
    const double at = place_in_time(outcome, *record);
    x.push_back({at, record->offset.x_px});
    y.push_back({at, record->offset.y_px});
  }
  plot.series = {{"x, right", std::move(x)}, {"y, down", std::move(y)}};
  plot.x.label = time_label(outcome);
  plot.y.label = "position against the reference, px";
  return plot;
}

Plot detail_plot(const InspectOutcome& outcome) {
  Plot plot;
  plot.title = "Power of detail over noise";
  std::vector<PlotPoint> spectrum;
  double most = 10;
  if (outcome.health.detail) {
    for (const auto& ring : outcome.health.detail->rings) {
      spectrum.push_back({ring.frequency, ring.power});
      most = std::max(most, ring.power);
    }
  }
  plot.series.push_back({"frames", std::move(spectrum)});
  plot.series.push_back({"noise", {{0, 1}, {0.5, 1}}, PlotMark::reference});
  if (outcome.optics && outcome.optics->cutoff_cycles_per_px() < 0.5)
    plot.vertical_lines.push_back({outcome.optics->cutoff_cycles_per_px(), "D / lambda"});
  plot.x = draw::axis_over("spatial frequency, cycles/px", 0, 0.5);
  plot.y = draw::axis_over("power, noise = 1", 0.5, most, PlotScale::logarithmic);
  return plot;
}

}  // namespace

std::string inspect_plot(const InspectOutcome& outcome) {
  return draw::svg_plots(std::vector<Plot>{levels_plot(outcome.health.exposure),
                                           sharpness_plot(outcome), path_plot(outcome),
                                           detail_plot(outcome)});
}

}  // namespace lull::run
