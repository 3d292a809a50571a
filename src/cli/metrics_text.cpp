#include <fmt/format.h>

#include "cli/texts.h"
#include "run/verdict.h"

namespace lull::cli {

namespace {

using run::figure;
using run::MetricsOutcome;
using run::name_of;
using run::row_name;

template <class Losses>
std::string loss_fields(const Losses& losses) {
  std::string text;
  for (const double loss : losses) text += fmt::format(" {:>6}", figure(100 * loss, 1));
  return text;
}

std::string truth_table(const MetricsOutcome& outcome) {
  std::string text = fmt::format("\nagainst the true Strehl ratio ({}, {}) of {} frames\n",
                                 outcome.truth, outcome.truth_column, outcome.trials.truth.size());
  text += fmt::format("{:<20} {:>6} {:>6} {:>6}", "measure", "rho", "tau", "noise");
  for (const double share : quality::kKeptShares)
    text += fmt::format(" {:>6}", fmt::format("{:.0f}%", 100 * share));
  text += " kept\n";
  for (std::size_t m = 0; m < quality::kMeasures; ++m) {
    const quality::AgainstTruth& truth = *outcome.figures.measures[m].truth;
    text += fmt::format("{:<20} {:>6} {:>6} {:>6}{}\n", row_name(outcome, m), figure(truth.rho, 3),
                        figure(truth.tau, 3), figure(-truth.rho_noise_drop, 3),
                        loss_fields(truth.loss));
  }
  text += fmt::format("{:<20} {:>6} {:>6} {:>6}{}\n", "by chance", "", "", "",
                      loss_fields(outcome.figures.by_chance));
  return text +
         "  rho Spearman, tau Kendall (tau-b); noise: change of rho when as much noise again as\n  "
         "measured is added; under a share of the frames: by how many % the mean Strehl ratio of\n "
         " the frames kept is below the best that as many frames can have\n";
}

std::string agreement_table(const MetricsOutcome& outcome) {
  std::string text = fmt::format("\namong themselves, on {} frames\n{:<20}",
                                 outcome.trials.trials.size(), "measure");
  text += fmt::format(" {:>11} {:>6} {:>7}  rho with\n", "reliability", "dimmed", "Mpx/s");
  for (std::size_t m = 0; m < quality::kMeasures; ++m) {
    const quality::MeasureFigures& figures = outcome.figures.measures[m];
    text += fmt::format("{:<20} {:>11} {:>6} {:>7} ", row_name(outcome, m),
                        figure(figures.reliability, 3), figure(100 * figures.dimming_change, 2),
                        figure(figures.speed_mpx_per_s, 0));
    for (std::size_t other = 0; other < m; ++other) {
      text += fmt::format(" {} {}", name_of(other), figure(figures.agreement[other], 3));
    }
    text += "\n";
  }
  return text +
         "  reliability: how repeatable the score is, 0 to 1, from two halves of each frame\n  "
         "with twice the noise variance; low for a measure that follows the noise. dimmed:\n  "
         "change of the score, %, when the frames are dimmed by 20%. Mpx/s: one thread, in\n  "
         "memory. * the measure in use\n";
}

}  // namespace

std::string metrics_text(const MetricsOutcome& outcome) {
  std::string text = fmt::format("{}: {} frames of {} x {} px, {} usable\n", outcome.capture,
                                 outcome.survey.records.size(), outcome.size.width_px,
                                 outcome.size.height_px, outcome.survey.usable());
  const std::string reasons = run::left_out(outcome.survey);
  if (!reasons.empty()) text += fmt::format("  left out: {}\n", reasons);
  text += fmt::format("target: {}; sharpness measure in use: {}\n",
                      quality::target_name(outcome.survey.target.kind),
                      quality::metric_name(outcome.survey.metric));
  for (const std::string& note : outcome.notes) text += fmt::format("note: {}\n", note);
  if (!outcome.truth.empty()) text += truth_table(outcome);
  return text + agreement_table(outcome);
}

}  // namespace lull::cli
