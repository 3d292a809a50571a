#pragma once

#include <vector>

#include "health/optics.h"
#include "report/charts.h"
#include "run/stack_outcome.h"

namespace lull::run {

/// The charts of a run, those left out that have nothing to show.
[[nodiscard]] std::vector<report::Chart> report_charts(const StackOutcome& run,
                                                       const std::optional<health::Optics>& optics);

}  // namespace lull::run
