#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>

#include "cli/texts.h"
#include "run/verdict.h"

namespace lull::cli {

namespace {

using run::CaptureMetrics;
using run::figure;
using run::MetricsOutcome;
using run::name_of;
using run::own_row_name;
using run::row_name;

template <class Losses>
std::string loss_fields(const Losses& losses) {
  std::string text;
  for (const double loss : losses) text += fmt::format("{:>5}", figure(100 * loss, 1));
  return text;
}

std::string interval_words(const quality::Interval& interval) {
  return figure(interval.low, 3) + ", " + figure(interval.high, 3);
}

std::string truth_row(const std::string& name, const quality::AgainstTruth& truth) {
  return fmt::format("{:<20} {:>6}{:>14} {:>6} {:>6}{}\n", name, figure(truth.rho, 3),
                     interval_words(truth.rho_interval), figure(truth.tau, 3),
                     figure(-truth.rho_noise_drop, 3), loss_fields(truth.loss));
}

std::string truth_table(const CaptureMetrics& outcome) {
  std::string text = fmt::format("\nagainst the true Strehl ratio ({}, {}) of {} frames\n",
                                 outcome.truth, outcome.truth_column, outcome.trials.truth.size());
  text += fmt::format("{:<20} {:>6}{:>14} {:>6} {:>6}", "measure", "rho", "95%", "tau", "noise");
  for (const double share : quality::kKeptShares)
    text += fmt::format("{:>5}", fmt::format("{:.0f}%", 100 * share));
  text += "\n";
  for (std::size_t m = 0; m < quality::kMeasures; ++m)
    text += truth_row(row_name(outcome, m), *outcome.figures.measures[m].truth);
  for (std::size_t i = 0; i < outcome.figures.own.size(); ++i)
    text += truth_row(own_row_name(outcome, i), *outcome.figures.own[i].truth);
  text += fmt::format("{:<20} {:>6}{:>14} {:>6} {:>6}{}\n", "by chance", "", "", "", "",
                      loss_fields(outcome.figures.by_chance));
  return text +
         "  rho Spearman with its interval of 95%, tau Kendall (tau-b); noise: change of\n"
         "  rho when as much noise again as measured is added; under a share of frames\n"
         "  kept: by how many % their mean Strehl ratio falls short of the best that as\n"
         "  many can have\n";
}

// Of every two measures, and of own scores with each measure.
std::string pairs_table(const CaptureMetrics& outcome) {
  const auto cell = [](std::size_t m, const std::string& text) {
    return fmt::format(" {:>{}}", text, std::max<std::size_t>(name_of(m).size(), 6));
  };
  std::string text = fmt::format("\n{:<20}", "rho of pairs");
  for (std::size_t m = 0; m < quality::kMeasures; ++m) text += cell(m, name_of(m));
  const auto row = [&](const std::string& name, const auto& agreement, std::size_t count) {
    text += fmt::format("\n{:<20}", name);
    for (std::size_t m = 0; m < count; ++m) text += cell(m, figure(agreement[m], 3));
  };
  for (std::size_t m = 1; m < quality::kMeasures; ++m)
    row(row_name(outcome, m), outcome.figures.measures[m].agreement, m);
  for (std::size_t i = 0; i < outcome.figures.own.size(); ++i)
    row(own_row_name(outcome, i), outcome.figures.own[i].agreement, quality::kMeasures);
  return text + "\n";
}

std::string agreement_table(const CaptureMetrics& outcome) {
  std::string text = fmt::format("\namong themselves, on {} frames\n{:<20}",
                                 outcome.trials.trials.size(), "measure");
  text += fmt::format(" {:>11} {:>6} {:>7}\n", "reliability", "dimmed", "Mpx/s");
  for (std::size_t m = 0; m < quality::kMeasures; ++m) {
    const quality::MeasureFigures& figures = outcome.figures.measures[m];
    text += fmt::format("{:<20} {:>11} {:>6} {:>7}\n", row_name(outcome, m),
                        figure(figures.reliability, 3), figure(100 * figures.dimming_change, 2),
                        figure(figures.speed_mpx_per_s, 0));
  }
  return text + pairs_table(outcome) +
         "  reliability: how repeatable the score is, 0 to 1, from two halves of each\n"
         "  frame with twice the noise variance; low for a measure that follows the noise.\n"
         "  dimmed: change of the score, %, when the frames are dimmed by 20%. Mpx/s: one\n"
         "  thread, in memory. * the measure in use\n";
}

std::string capture_text(const CaptureMetrics& outcome) {
  std::string text = fmt::format("{}: {} frames of {} x {} px, {} usable\n", outcome.capture,
                                 outcome.survey.records.size(), outcome.size.width_px,
                                 outcome.size.height_px, outcome.survey.usable());
  const std::string reasons = run::left_out(outcome.survey);
  if (!reasons.empty()) text += fmt::format("  left out: {}\n", reasons);
  text += fmt::format("target: {}; sharpness measure in use: {}\n",
                      quality::target_name(outcome.survey.target.kind), outcome.survey.ranked_by());
  for (const std::string& note : outcome.notes) text += fmt::format("note: {}\n", note);
  if (!outcome.truth.empty()) text += truth_table(outcome);
  return text + agreement_table(outcome);
}

// One line a capture: how well each measure ranks it, or repeats itself there. Several measures
// together, where they rank every capture, have the last column.
std::string summary_table(const MetricsOutcome& outcome) {
  const bool has_truth = !outcome.captures.front().truth.empty();
  const bool together =
      has_truth && std::all_of(outcome.captures.begin(), outcome.captures.end(),
                               [](const auto& one) { return one.survey.shares.has_value(); });
  std::string text =
      fmt::format("all captures: {}\n{:<18}",
                  has_truth ? "rho with the true Strehl ratio" : "reliability", "capture");
  std::vector<std::string> names;
  for (std::size_t m = 0; m < quality::kMeasures; ++m) names.push_back(name_of(m));
  if (together) names.emplace_back(quality::kTogether);
  const auto width = [](const std::string& name) { return std::max<std::size_t>(name.size(), 6); };
  for (const std::string& name : names) text += fmt::format(" {:>{}}", name, width(name));
  text += "\n";
  const auto line = [&](const std::string& name, const std::vector<double>& values) {
    text += fmt::format("{:<18}", name);
    for (std::size_t i = 0; i < names.size(); ++i)
      text += fmt::format(" {:>{}}", figure(values[i], 3), width(names[i]));
    text += "\n";
  };
  std::vector<double> means(names.size());
  for (const CaptureMetrics& one : outcome.captures) {
    std::vector<double> values;
    for (const quality::MeasureFigures& figures : one.figures.measures)
      values.push_back(has_truth ? figures.truth->rho : figures.reliability);
    if (together) values.push_back(one.figures.own.front().truth->rho);
    for (std::size_t i = 0; i < values.size(); ++i)
      means[i] += values[i] / static_cast<double>(outcome.captures.size());
    line(std::filesystem::path(one.capture).filename().string(), values);
  }
  line("mean", means);
  return text;
}

}  // namespace

std::string metrics_text(const MetricsOutcome& outcome) {
  std::string text;
  for (const CaptureMetrics& one : outcome.captures)
    text += (text.empty() ? "" : "\n") + capture_text(one);
  if (outcome.captures.size() > 1) text += "\n" + summary_table(outcome);
  return text;
}

}  // namespace lull::cli
