#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <vector>

#include "health/optics.h"
#include "report/charts.h"
#include "run/stack_outcome.h"

namespace lull::run {

/// The charts of a run, those left out that have nothing to show.
[[nodiscard]] std::vector<report::Chart> report_charts(const StackOutcome& run,
                                                       const std::optional<health::Optics>& optics);

/// What a finish did to the detail; none where it did nothing.
/// @param figures  of Finished. @param frc  of the stack's luminance.
[[nodiscard]] std::optional<report::Chart> gain_chart(const nlohmann::json& figures,
                                                      const spectrum::FrcCurve& frc);

}  // namespace lull::run
