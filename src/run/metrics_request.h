#pragma once

#include <string>

#include "run/capture_input.h"

namespace lull::run {

/// What `lull metrics` is asked for.
struct MetricsRequest {
  CaptureInput input;
  std::string truth;  ///< table of true Strehl ratios, or the truth file beside it; empty = none
  std::string csv;    ///< file for the table, empty = none
  std::string plot;   ///< SVG file, empty = none
};

[[nodiscard]] const OptionTable<MetricsRequest>& metrics_options();

}  // namespace lull::run
