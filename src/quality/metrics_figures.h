#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "quality/agreement.h"
#include "quality/trial.h"

namespace lull::quality {

/// Shares of the frames at which the loss of a choice is reported.
inline constexpr std::array kKeptShares = {0.01, 0.05, 0.10, 0.25, 0.50};

inline constexpr std::size_t kMeasures = kMetrics.size();

/// Scores of the same frames by a measure of one's own.
struct OwnScores {
  std::string name;
  std::vector<double> scores;
};

/// What was found out about the measures: frames that are usable and, with truth, have one.
/// All have the same length.
struct Trials {
  std::vector<std::int64_t> frames;
  std::vector<quality::Trial> trials;
  std::vector<double> truth;  ///< true Strehl ratio; empty without truth
  std::vector<OwnScores> own;
};

struct AgainstTruth {
  double rho = 0;             ///< Spearman
  Interval rho_interval;      ///< of 95%, see spearman_interval()
  double tau = 0;             ///< Kendall's tau-b
  double rho_noise_drop = 0;  ///< rho less rho with noise of as much again as measured; else NaN
  std::array<double, kKeptShares.size()> loss{};  ///< see kept_loss
};

struct MeasureFigures {
  std::optional<AgainstTruth> truth;
  /// Change of the score when the frames are dimmed to kTrialDimming: median of the
  /// magnitudes over the median magnitude of the score. NaN when the score is 0.
  double dimming_change = 0;
  double reliability = 0;  ///< of the score: its two halves compared, see reliability_of_whole
  double speed_mpx_per_s = 0;
  std::array<double, kMeasures> agreement{};  ///< Spearman's rho with each measure
};

struct MetricsFigures {
  std::array<MeasureFigures, kMeasures> measures;      ///< in the order of kMetrics
  std::vector<MeasureFigures> own;                     ///< of Trials::own; what frames tell is NaN
  std::array<double, kKeptShares.size()> by_chance{};  ///< loss of a choice by lot; with truth
};

/// @param speeds Mpx/s of each measure. At least one trial.
[[nodiscard]] MetricsFigures metrics_figures(const Trials& trials,
                                             const std::array<double, kMeasures>& speeds);

/// Scores of the frames as they were recorded, by one measure.
[[nodiscard]] std::vector<double> recorded_scores(const Trials& trials, std::size_t measure);

/// Scores of the frames from one half of their cells. @param half 0 or 1; see TrialScores::halves.
[[nodiscard]] std::vector<double> half_scores(const Trials& trials, std::size_t measure,
                                              std::size_t half);

/// Loss of a choice by lot: 1 - mean truth of all over mean truth of the best.
[[nodiscard]] double loss_by_chance(const std::vector<double>& truth, double share);

}  // namespace lull::quality
