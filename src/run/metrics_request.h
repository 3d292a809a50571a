#pragma once

#include <string>
#include <vector>

#include "run/capture_input.h"

namespace lull::run {

/// What `lull metrics` is asked for.
struct MetricsRequest {
  CaptureInput input;
  /// Tables of true Strehl ratios, or the truths they stand beside: one a capture, or none.
  std::vector<std::string> truths;
  std::vector<std::string> scores;  ///< tables of scores of one's own: one a capture, or none
  std::string csv;                  ///< file for the table, empty = none
  std::string plot;                 ///< SVG file, empty = none
};

[[nodiscard]] const OptionTable<MetricsRequest>& metrics_options();

}  // namespace lull::run
