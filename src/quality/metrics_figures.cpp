#include "quality/metrics_figures.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <numeric>

#include "core/statistics.h"
#include "quality/agreement.h"

namespace lull::quality {

namespace {

using quality::TrialScores;

template <class Pick>
std::vector<double> picked(const Trials& trials, std::size_t measure, const Pick& pick) {
  std::vector<double> values;
  values.reserve(trials.trials.size());
  for (const quality::Trial& trial : trials.trials) values.push_back(pick(trial[measure]));
  return values;
}

double dimming_change(const Trials& trials, std::size_t measure) {
  const double change = upper_median(picked(
      trials, measure, [](const TrialScores& s) { return std::abs(s.dimmed - s.as_recorded); }));
  const double typical = upper_median(
      picked(trials, measure, [](const TrialScores& s) { return std::abs(s.as_recorded); }));
  return typical > 0 ? change / typical : std::numeric_limits<double>::quiet_NaN();
}

double reliability(const Trials& trials, std::size_t measure) {
  return reliability_of_whole(
      quality::spearman(half_scores(trials, measure, 0), half_scores(trials, measure, 1)));
}

AgainstTruth against_truth(const std::vector<double>& scores, const std::vector<double>& truth) {
  AgainstTruth out;
  out.rho = quality::spearman(scores, truth);
  out.rho_interval = spearman_interval(out.rho, truth.size());
  out.tau = kendall_tau_b(scores, truth);
  out.rho_noise_drop = std::numeric_limits<double>::quiet_NaN();
  for (std::size_t i = 0; i < kKeptShares.size(); ++i)
    out.loss[i] = kept_loss(scores, truth, kKeptShares[i]);
  return out;
}

AgainstTruth against_truth(const Trials& trials, std::size_t measure) {
  AgainstTruth out = against_truth(recorded_scores(trials, measure), trials.truth);
  const auto noisier = picked(trials, measure, [](const TrialScores& s) { return s.noisier; });
  out.rho_noise_drop = out.rho - quality::spearman(noisier, trials.truth);
  return out;
}

MeasureFigures own_figures(const OwnScores& own, const Trials& trials) {
  constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();
  MeasureFigures figures{{}, kUnknown, kUnknown, kUnknown, {}};
  if (!trials.truth.empty()) figures.truth = against_truth(own.scores, trials.truth);
  for (std::size_t m = 0; m < kMeasures; ++m)
    figures.agreement[m] = quality::spearman(own.scores, recorded_scores(trials, m));
  return figures;
}

}  // namespace

std::vector<double> recorded_scores(const Trials& trials, std::size_t measure) {
  return picked(trials, measure, [](const TrialScores& s) { return s.as_recorded; });
}

std::vector<double> half_scores(const Trials& trials, std::size_t measure, std::size_t half) {
  return picked(trials, measure, [half](const TrialScores& s) { return s.halves[half]; });
}

double loss_by_chance(const std::vector<double>& truth, double share) {
  const double mean =
      std::accumulate(truth.begin(), truth.end(), 0.0) / static_cast<double>(truth.size());
  std::vector<double> best = truth;
  std::sort(best.begin(), best.end(), std::greater<>());
  const auto count =
      static_cast<std::ptrdiff_t>(std::clamp(std::round(share * static_cast<double>(truth.size())),
                                             1.0, static_cast<double>(truth.size())));
  return 1 - mean / (std::accumulate(best.begin(), best.begin() + count, 0.0) /
                     static_cast<double>(count));
}

MetricsFigures metrics_figures(const Trials& trials, const std::array<double, kMeasures>& speeds) {
  MetricsFigures out;
  for (std::size_t m = 0; m < kMeasures; ++m) {
    MeasureFigures& figures = out.measures[m];
    if (!trials.truth.empty()) figures.truth = against_truth(trials, m);
    figures.dimming_change = dimming_change(trials, m);
    figures.reliability = reliability(trials, m);
    figures.speed_mpx_per_s = speeds[m];
    for (std::size_t other = 0; other < kMeasures; ++other) {
      figures.agreement[other] =
          quality::spearman(recorded_scores(trials, m), recorded_scores(trials, other));
    }
  }
  for (const OwnScores& own : trials.own) out.own.push_back(own_figures(own, trials));
  for (std::size_t i = 0; !trials.truth.empty() && i < kKeptShares.size(); ++i) {
    out.by_chance[i] = loss_by_chance(trials.truth, kKeptShares[i]);
  }
  return out;
}

}  // namespace lull::quality
