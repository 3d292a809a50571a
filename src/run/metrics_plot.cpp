#include "run/metrics_plot.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "draw/svg_plot.h"
#include "quality/agreement.h"

namespace lull::run {

namespace {

using draw::Plot;
using draw::PlotMark;
using draw::PlotPoint;
using draw::PlotScale;

constexpr int kCurvePoints = 60;

// From a choice of one frame to all of them, evenly on a logarithmic axis; each count once.
std::vector<double> curve_shares(std::size_t frames) {
  std::vector<double> shares;
  const auto count = static_cast<double>(frames);
  for (int i = 0; i <= kCurvePoints; ++i) {
    const double kept = std::round(std::pow(count, static_cast<double>(i) / kCurvePoints));
    if (shares.empty() || kept / count > shares.back()) shares.push_back(kept / count);
  }
  return shares;
}

template <class Value>
std::vector<PlotPoint> curve(const std::vector<double>& shares, const Value& value) {
  std::vector<PlotPoint> points;
  points.reserve(shares.size());
  for (const double share : shares) points.push_back({100 * share, 100 * value(share)});
  return points;
}

Plot loss_plot(const CaptureMetrics& outcome) {
  const std::vector<double>& truth = outcome.trials.truth;
  const auto shares = curve_shares(truth.size());
  Plot plot;
  plot.title = "Loss by a choice by sharpness";
  for (std::size_t m = 0; m < quality::kMeasures; ++m) {
    const auto scores = quality::recorded_scores(outcome.trials, m);
    plot.series.push_back({row_name(outcome, m), curve(shares, [&](double share) {
                             return quality::kept_loss(scores, truth, share);
                           })});
  }
  for (const quality::OwnScores& own : outcome.trials.own) {
    plot.series.push_back({own.name, curve(shares, [&](double share) {
                             return quality::kept_loss(own.scores, truth, share);
                           })});
  }
  plot.series.push_back(
      {"by chance",
       curve(shares, [&](double share) { return quality::loss_by_chance(truth, share); }),
       PlotMark::reference});
  double most = 0;
  for (const auto& series : plot.series) {
    for (const PlotPoint& p : series.points) most = std::max(most, p.y);
  }
  plot.x = draw::axis_over("frames kept, %", 100 * shares.front(), 100, PlotScale::logarithmic);
  plot.y = draw::axis_over("loss of Strehl ratio, %", 0, most);
  return plot;
}

Plot rank_plot(const CaptureMetrics& outcome) {
  const std::vector<double>& truth = outcome.trials.truth;
  const std::size_t measure = in_use(outcome);
  const bool together = outcome.survey.shares.has_value();
  const std::string name = together ? quality::kTogether : name_of(measure);
  const auto ranks =
      quality::mid_ranks(together ? outcome.trials.own.front().scores
                                  : quality::recorded_scores(outcome.trials, measure));
  const quality::MeasureFigures& figures =
      together ? outcome.figures.own.front() : outcome.figures.measures[measure];
  std::vector<PlotPoint> points;
  const auto count = static_cast<double>(truth.size());
  for (std::size_t i = 0; i < truth.size(); ++i) {
    points.push_back({count + 1 - ranks[i], truth[i]});
  }
  Plot plot;
  plot.title = fmt::format("Frames ranked by {}: rho {}", name, figure(figures.truth->rho, 3));
  plot.x = draw::axis_over("rank of the frame, sharpest first", 0, count);
  plot.y = draw::axis_over("true Strehl ratio", 0, *std::max_element(truth.begin(), truth.end()));
  plot.series.push_back({name, std::move(points), PlotMark::dots});
  return plot;
}

// Ranks from 1, sharpest first, so that a choice of n frames is all ranks up to n.
std::vector<double> ranks_from_sharpest(const std::vector<double>& scores) {
  auto ranks = quality::mid_ranks(scores);
  for (double& rank : ranks) rank = static_cast<double>(scores.size()) + 1 - rank;
  return ranks;
}

// Part of the sharpest `share` by one measure that the other chooses as well.
double in_common(const std::vector<double>& a, const std::vector<double>& b, double share) {
  const double last = std::round(share * static_cast<double>(a.size()));
  double both = 0;
  for (std::size_t i = 0; i < a.size(); ++i) both += a[i] <= last && b[i] <= last ? 1 : 0;
  return both / last;
}

Plot common_plot(const CaptureMetrics& outcome) {
  const std::size_t used = in_use(outcome);
  const auto own = ranks_from_sharpest(quality::recorded_scores(outcome.trials, used));
  const auto shares = curve_shares(own.size());
  Plot plot;
  plot.title = fmt::format("Frames chosen by {} that others choose too", name_of(used));
  for (std::size_t m = 0; m < quality::kMeasures; ++m) {
    if (m == used) continue;
    const auto other = ranks_from_sharpest(quality::recorded_scores(outcome.trials, m));
    plot.series.push_back(
        {name_of(m), curve(shares, [&](double share) { return in_common(own, other, share); })});
  }
  plot.series.push_back(
      {"by chance", curve(shares, [](double share) { return share; }), PlotMark::reference});
  plot.x = draw::axis_over("frames kept, %", 100 * shares.front(), 100, PlotScale::logarithmic);
  plot.y = draw::axis_over("in common, %", 0, 100);
  return plot;
}

Plot halves_plot(const CaptureMetrics& outcome) {
  const std::size_t used = in_use(outcome);
  const auto first = ranks_from_sharpest(quality::half_scores(outcome.trials, used, 0));
  const auto second = ranks_from_sharpest(quality::half_scores(outcome.trials, used, 1));
  std::vector<PlotPoint> points;
  for (std::size_t i = 0; i < first.size(); ++i) points.push_back({first[i], second[i]});
  const auto count = static_cast<double>(first.size());
  Plot plot;
  plot.title = fmt::format("Repeatability of {}: reliability {}", name_of(used),
                           figure(outcome.figures.measures[used].reliability, 3));
  plot.x = draw::axis_over("rank by half of the patches, sharpest first", 0, count);
  plot.y = draw::axis_over("rank by the other half", 0, count);
  plot.series.push_back({name_of(used), std::move(points), PlotMark::dots});
  return plot;
}

}  // namespace

std::string metrics_plot(const MetricsOutcome& outcome) {
  std::vector<Plot> plots;
  for (const CaptureMetrics& one : outcome.captures) {
    const bool has_truth = !one.trials.truth.empty();
    plots.push_back(has_truth ? loss_plot(one) : common_plot(one));
    plots.push_back(has_truth ? rank_plot(one) : halves_plot(one));
    if (outcome.captures.size() == 1) continue;
    const std::string name = std::filesystem::path(one.capture).filename().string();
    for (std::size_t i = plots.size() - 2; i < plots.size(); ++i)
      plots[i].title = name + ": " + plots[i].title;
  }
  return draw::svg_plots(plots);
}

}  // namespace lull::run
