#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "run/control.h"
#include "run/plan_request.h"
#include "run/target_plan.h"
#include "sky/zone.h"

namespace lull::run {

/// A plan for one target or for all.
struct PlanOutcome {
  sky::Site site{};
  sky::Zone zone{""};
  std::string date;  ///< of the evening, "2026-11-30"
  double signal_to_noise = 0;
  std::vector<TargetPlan> targets{};
  sky::Interval night{};    ///< from noon to noon
  sky::Intervals dark{};    ///< Sun below -18 degrees
  sky::Intervals sun_up{};  ///< in that time
  std::string caution{};    ///< for the Sun, and for what stands beside it
  std::vector<std::string> notes{};
  std::vector<std::string> written{};
};

/// @param now  for a request without a date.
/// @throws UsageError, OutputError.
[[nodiscard]] PlanOutcome make_plan(const PlanRequest& request, Utc now);

/// make_plan() for this moment, and its plot.
[[nodiscard]] PlanOutcome run_plan(const PlanRequest& request, const RunControl& control);

[[nodiscard]] nlohmann::json to_json(const PlanOutcome& outcome);

/// SVG.
[[nodiscard]] std::string plan_plot(const PlanOutcome& outcome);

}  // namespace lull::run
