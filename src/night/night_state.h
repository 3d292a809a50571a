#pragma once

#include <filesystem>
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

/// Notes what a night is going to do, for states_of(). @throws OutputError.
void save_plan(const Plan& plan, const NightFolder& place);

/// Whether a night has been in this folder.
[[nodiscard]] bool is_of_a_night(const NightFolder& place);

/// Every picture that was planned, and those made by lines of a jobs file, by name. Reads what
/// others may write at the same time: what is damaged counts as waiting.
[[nodiscard]] std::vector<PictureState> states_of(const NightFolder& place);

}  // namespace lull::night
