#pragma once

#include <string>

#include "run/metrics_outcome.h"

namespace lull::run {

/// Two pictures side by side, as SVG. With truth: loss against the part of the frames kept, and
/// true Strehl ratio against the rank by the measure in use. Without: how many of the frames kept
/// each measure has in common with the one in use, and the ranks by its two halves.
[[nodiscard]] std::string metrics_plot(const MetricsOutcome& outcome);

}  // namespace lull::run
