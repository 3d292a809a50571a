#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "app/metrics_figures.h"
#include "stack/survey.h"

namespace lull::app {

/// What `lull metrics` tells.
struct MetricsReport {
  std::string capture;
  Size size;
  stack::Survey survey;
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

/// Loss against the part of the frames kept, and true Strehl ratio against the rank by the
/// measure in use, as SVG. Needs the truth.
[[nodiscard]] std::string metrics_plot(const MetricsReport& report);

}  // namespace lull::app
