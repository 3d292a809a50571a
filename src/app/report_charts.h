#pragma once

#include <vector>

#include "app/stack_report.h"
#include "health/optics.h"
#include "report/charts.h"

namespace lull::app {

/// The charts of a run, those left out that have nothing to show.
[[nodiscard]] std::vector<report::Chart> report_charts(const StackRun& run,
                                                       const std::optional<health::Optics>& optics);

}  // namespace lull::app
