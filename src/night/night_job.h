#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <variant>
#include <vector>

#include "night/night_folder.h"
#include "night/night_request.h"
#include "night/plan.h"
#include "night/suited.h"
#include "run/merge_request.h"
#include "run/stack_request.h"

namespace lull::night {

/// A picture to be made, with all that is needed for it: of captures, or in colour of other
/// pictures.
struct NightJob {
  std::string name;
  std::variant<run::StackRequest, run::MergeRequest> request;
  std::vector<Master> masters{};     ///< that it uses, a flat after its dark
  std::string copy_of{};             ///< a capture: with the same bytes nothing is made
  std::vector<NightJob> parts{};     ///< pictures that it merges, in the order of Merge::parts()
  std::vector<Unsuited> unsuited{};  ///< options of all pictures that do not count for this one
  double cost_bytes = 0;
  double need_bytes = 0;

  [[nodiscard]] bool is_merge() const { return !parts.empty(); }

  /// The request of a picture of captures.
  [[nodiscard]] run::StackRequest& stack() { return std::get<run::StackRequest>(request); }

  [[nodiscard]] const run::StackRequest& stack() const {
    return std::get<run::StackRequest>(request);
  }

  /// The request of a picture in colour.
  [[nodiscard]] const run::MergeRequest& merge() const {
    return std::get<run::MergeRequest>(request);
  }

  /// What a request of either kind holds.
  [[nodiscard]] const std::string& output() const;
  [[nodiscard]] std::string report_path() const;
  [[nodiscard]] const run::Look& look() const;

  /// All files that it reads.
  [[nodiscard]] std::vector<std::string> inputs() const;

  /// All captures, of its parts too.
  [[nodiscard]] std::vector<std::string> captures() const;
};

/// The jobs of a plan, the largest first; those in colour follow their parts.
/// @param options  of the command line, which win. @throws UsageError, InputError.
[[nodiscard]] std::vector<NightJob> jobs_of(const Plan& plan, const profile::Profile& profile,
                                            const std::vector<profile::OptionSetting>& options,
                                            const NightFolder& place);

/// What the plan says of options that do not count for all of its pictures.
[[nodiscard]] std::vector<std::string> notes_of(const std::vector<NightJob>& jobs);

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
