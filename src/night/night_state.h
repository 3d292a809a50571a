#pragma once

#include <filesystem>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "night/night_folder.h"
#include "night/plan.h"

namespace lull::night {

/// How far one picture of a night is, for those who look on.
struct PictureState {
  std::string name{};
  std::vector<std::string> captures{};  ///< from the root, where the night noted its plan
  std::string state{};                  ///< "waiting", "at work", "done", "failed" or "skipped"
  std::string problem{};
  std::string remedy{};
};

/// Notes what a night is going to do, for those who look on and for the gathering of jobs that were
/// done elsewhere. @throws OutputError.
void save_plan(const Plan& plan, const NightFolder& place);

/// What of a plan only the one who made it knew.
struct NotedPlan {
  std::set<std::string> names{};  ///< of all pictures
  std::vector<LeftOut> left_out{};
  std::vector<Set> sets{};
};

/// None where no plan was noted, or it is damaged.
[[nodiscard]] std::optional<NotedPlan> noted_plan(const NightFolder& place);

/// Whether a night has been in this folder.
[[nodiscard]] bool is_of_a_night(const NightFolder& place);

/// Every picture that was planned, and those made by lines of a jobs file, by name. Reads what
/// others may write at the same time: what is damaged counts as waiting.
[[nodiscard]] std::vector<PictureState> states_of(const NightFolder& place);

}  // namespace lull::night
