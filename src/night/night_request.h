#pragma once

#include <optional>
#include <string>
#include <vector>

#include "night/plan.h"
#include "run/option.h"

namespace lull::night {

/// What `lull night` does.
enum class Action {
  run,
  plan,    ///< prints what would be done
  gather,  ///< writes the page and the tables of what is done
};

/// Whether new captures are waited for.
enum class Watch { no, yes };

/// What `lull night` is asked for.
struct NightRequest {
  std::string place{};    ///< folder of the captures, or a plan that was printed
  std::string results{};  ///< folder
  Action action = Action::run;
  Watch watch = Watch::no;
  Join join = Join::none;
  Merging merging = Merging::colours;
  int jobs = 0;                                   ///< side by side; 0 = as memory allows
  std::string jobs_file{};                        ///< empty: none
  int job = 0;                                    ///< of the file, from 1; 0: not one alone
  std::vector<profile::OptionSetting> options{};  ///< for every picture
};

[[nodiscard]] const run::OptionTable<NightRequest>& night_options();

/// @throws UsageError: something is missing, or options contradict each other.
void check_request(const NightRequest& request);

}  // namespace lull::night
