#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "night/night_folder.h"
#include "night/night_request.h"
#include "night/plan.h"
#include "run/stack_request.h"

namespace lull::night {

/// A picture to be made, with all that is needed for it.
struct NightJob {
  std::string name;
  run::StackRequest request;
  std::vector<Master> masters{};  ///< that it uses, a flat after its dark
  double cost_bytes = 0;
  double need_bytes = 0;
};

/// The jobs of a plan, the largest first.
/// @param options  of the command line, which win. @throws UsageError, InputError.
[[nodiscard]] std::vector<NightJob> jobs_of(const Plan& plan, const profile::Profile& profile,
                                            const std::vector<profile::OptionSetting>& options,
                                            const NightFolder& place);

/// Jobs as lines of JSON, each of which is enough on any machine that sees the same files.
[[nodiscard]] std::string jobs_text(const std::vector<NightJob>& jobs, const NightFolder& place);

/// A line of a jobs file.
struct LineOfJobs {
  NightJob job;
  std::string results;
  std::string folder;  ///< from which names of files are to be read
};

/// @param number  from 1. @throws InputError: no such line, or none that lull wrote.
[[nodiscard]] LineOfJobs job_in_file(const std::string& path, int number);

}  // namespace lull::night
