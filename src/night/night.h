#pragma once

#include <set>
#include <string>
#include <vector>

#include "core/cancel.h"
#include "night/crew.h"
#include "night/night_request.h"
#include "night/plan.h"
#include "night/summary.h"
#include "profile/profile.h"
#include "run/control.h"

namespace lull::night {

/// What a night found and did.
struct NightOutcome {
  Plan plan;
  std::vector<JobResult> results{};  ///< of the pictures of this run
  std::vector<LeftOut> left_out{};   ///< of the plan, and captures that still grow
  std::vector<std::string> written{};

  [[nodiscard]] std::size_t count(Fate fate) const;

  /// Pictures that failed and captures that cannot be read or still grow.
  [[nodiscard]] std::size_t problems() const;
};

/// How a night is accompanied.
struct NightControl {
  run::Resources resources;
  CancelToken cancel;
  NightWatcher watcher;
  Progress progress;  ///< of looking through the folder
};

/// What a folder, or a plan that was written, asks for. Nothing is changed.
/// @param profile  in effect; a plan has one of its own where none is given.
/// @throws UsageError, InputError, Interrupted.
/// @param growing  captures that are left out.
[[nodiscard]] Plan plan_of(const NightRequest& request, profile::Profile& profile,
                           const Progress& progress, const std::set<std::string>& growing = {});

/// Prints nothing, and changes nothing unless a jobs file is asked for: then it writes that, and
/// notes the plan in the results.
[[nodiscard]] NightOutcome run_plan(const NightRequest& request, profile::Profile profile,
                                    const NightControl& control);

/// Makes all pictures, then the page and the tables.
/// @throws UsageError: another night is at work in the folder; InputError; OutputError;
/// Interrupted.
[[nodiscard]] NightOutcome run_night(const NightRequest& request, profile::Profile profile,
                                     const NightControl& control);

/// One line of a jobs file.
[[nodiscard]] NightOutcome run_job(const NightRequest& request, const NightControl& control);

/// The page and the tables of what is done. What was planned and has no record counts as a problem.
[[nodiscard]] NightOutcome run_gather(const NightRequest& request);

}  // namespace lull::night
