#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "quality/metrics_figures.h"
#include "run/control.h"
#include "run/metrics_request.h"
#include "survey/survey.h"

namespace lull::run {

/// What `lull metrics` found on one capture.
struct CaptureMetrics {
  std::string capture;
  Size size;
  survey::Survey survey;
  std::string truth;         ///< the table, empty = none
  std::string truth_column;  ///< of the table
  quality::Trials trials;
  quality::MetricsFigures figures;
  std::vector<std::string> notes;
};

/// What `lull metrics` found, capture by capture.
struct MetricsOutcome {
  std::vector<CaptureMetrics> captures;
};

/// One row a measure of a capture; fields that need the truth are empty without it.
[[nodiscard]] std::string metrics_csv(const MetricsOutcome& outcome);

/// An object for one capture, else one with a list of these. Figures that are not defined are null.
[[nodiscard]] nlohmann::json to_json(const MetricsOutcome& outcome);

/// The word for a measure, by its position in kMetrics.
[[nodiscard]] std::string name_of(std::size_t measure);

/// Position in kMetrics of the measure that weighs the patches of this capture, and ranks its
/// frames unless several do together.
[[nodiscard]] std::size_t in_use(const CaptureMetrics& outcome);

/// Name of a measure, the one in use with a mark.
[[nodiscard]] std::string row_name(const CaptureMetrics& outcome, std::size_t measure);

/// The same of quality::Trials::own.
[[nodiscard]] std::string own_row_name(const CaptureMetrics& outcome, std::size_t own);

/// A figure for people: `-` when it is not defined, no minus before zero.
[[nodiscard]] std::string figure(double value, int decimals);

/// Measures every usable frame by every measure, and writes the table and the plot where they are
/// asked for.
/// @throws UsageError, InputError, NothingUsable, OutputError, Interrupted.
[[nodiscard]] MetricsOutcome run_metrics(const MetricsRequest& request, const RunControl& control);

}  // namespace lull::run
