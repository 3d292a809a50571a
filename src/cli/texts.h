#pragma once

#include <string>

#include "night/night.h"
#include "run/animate_outcome.h"
#include "run/derotate_outcome.h"
#include "run/finish_outcome.h"
#include "run/inspect_outcome.h"
#include "run/master_outcome.h"
#include "run/merge_outcome.h"
#include "run/metrics_outcome.h"
#include "run/mosaic_outcome.h"
#include "run/plan_outcome.h"
#include "run/profile_request.h"
#include "run/rank_outcome.h"
#include "run/stack_outcome.h"

namespace lull::cli {

// What each verb prints for people, on standard output; lines end in \n.

/// Figures, then findings, as wide as the terminal.
[[nodiscard]] std::string inspect_text(const run::InspectOutcome& outcome);

[[nodiscard]] std::string rank_text(const run::RankOutcome& outcome);

[[nodiscard]] std::string metrics_text(const run::MetricsOutcome& outcome);

[[nodiscard]] std::string stack_text(const run::StackOutcome& outcome);

[[nodiscard]] std::string finish_text(const run::FinishOutcome& outcome);

[[nodiscard]] std::string master_text(const run::MasterOutcome& outcome);

[[nodiscard]] std::string night_text(const night::NightOutcome& outcome);

[[nodiscard]] nlohmann::json night_json(const night::NightOutcome& outcome);

/// A profile as it is understood.
[[nodiscard]] std::string profile_text(const profile::Profile& profile);

[[nodiscard]] std::string derotate_text(const run::DerotateOutcome& outcome);

/// A screen for one target, a table for all.
[[nodiscard]] std::string plan_text(const run::PlanOutcome& outcome);

[[nodiscard]] std::string merge_text(const run::MergeOutcome& outcome);

[[nodiscard]] std::string mosaic_text(const run::MosaicOutcome& outcome);

[[nodiscard]] std::string animate_text(const run::AnimateOutcome& outcome);

}  // namespace lull::cli
