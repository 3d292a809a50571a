#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "app/metrics_figures.h"
#include "survey/survey.h"

namespace lull::app {

/// What `lull metrics` tells.
struct MetricsReport {
  std::string capture;
  Size size;
  survey::Survey survey;
  std::string truth;         ///< the table, empty = none
  std::string truth_column;  ///< of the table
  Trials trials;
  MetricsFigures figures;
  std::vector<std::string> notes;
};

/// For people, on standard output.
[[nodiscard]] std::string metrics_text(const MetricsReport& report);

/// One row a measure; fields that need the truth are empty without it.
[[nodiscard]] std::string metrics_csv(const MetricsReport& report);

/// Figures that are not defined are null.
[[nodiscard]] nlohmann::json metrics_json(const MetricsReport& report);

/// The word for a measure, by its position in kMetrics.
[[nodiscard]] std::string name_of(std::size_t measure);

/// Position in kMetrics of the measure that ranks this capture.
[[nodiscard]] std::size_t in_use(const MetricsReport& report);

/// Name of a measure, the one in use with a mark.
[[nodiscard]] std::string row_name(const MetricsReport& report, std::size_t measure);

/// A figure for people: `-` when it is not defined, no minus before zero.
[[nodiscard]] std::string figure(double value, int decimals);

}  // namespace lull::app
