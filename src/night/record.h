#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "health/findings.h"
#include "night/night_folder.h"
#include "night/night_job.h"
#include "run/merge_outcome.h"
#include "run/stack_outcome.h"

namespace lull::night {

/// What became of a picture, as it is kept beside the results. Nothing in it depends on when or
/// where it was made.
struct Record {
  std::string name;
  std::string key;  ///< of what it was made of, see job_key()
  bool done = false;
  bool skipped = false;  ///< not tried, for the reason that `problem` gives
  bool begun = false;    ///< files of its name are those of this night
  std::vector<std::string> captures{};
  std::vector<std::string> parts{};  ///< pictures that it is merged of
  std::string object{};
  std::string filter{};
  std::string when{};     ///< ISO 8601 with a Z; empty: not known
  std::string caution{};  ///< for the Sun
  std::string picture{};  ///< a small one as a data URI
  int width_px = 0;       ///< of the result
  int height_px = 0;
  nlohmann::json figures = nlohmann::json::object();  ///< see figures_of()
  std::vector<health::Finding> findings{};
  std::vector<std::string> notes{};
  std::string problem{};  ///< why there is no picture
  std::string remedy{};
  int status = 0;  ///< of a run of its own
};

/// What decides the bytes of a picture: its captures, the captures of its masters, its options, and
/// the version of the program. @throws InputError when a file cannot be read.
/// @param parts  the keys of its parts, in their order.
[[nodiscard]] std::string job_key(const NightJob& job, const std::vector<std::string>& parts = {});

[[nodiscard]] Record record_of(const NightJob& job, const run::StackOutcome& outcome);
[[nodiscard]] Record record_of(const NightJob& job, const run::MergeOutcome& outcome);

/// @param message  of the RunError. What follows the first "; " is the remedy.
[[nodiscard]] Record record_of_failure(const NightJob& job, const std::string& message, int status);

/// @param why  it was not tried: "not merged, since mars_R failed".
[[nodiscard]] Record record_of_skipped(const NightJob& job, const std::string& why);

/// Of one that was skipped.
[[nodiscard]] LeftOut left_out_of(const Record& record);

/// "done", "failed" or "skipped".
[[nodiscard]] const char* state_of(const Record& record);

[[nodiscard]] nlohmann::json to_json(const Record& record);

/// None where the text is no record of this version.
[[nodiscard]] std::optional<Record> record_in(const std::string& text);

/// None where there is none, or it cannot be read.
[[nodiscard]] std::optional<Record> load_record(const NightFolder& place, const std::string& name);

/// @throws OutputError.
void save_record(const NightFolder& place, const Record& record);

/// All records of a night, by name.
[[nodiscard]] std::vector<Record> load_records(const NightFolder& place);

/// Whether the picture of the job is there, made of the same as now.
[[nodiscard]] bool is_done(const NightFolder& place, const NightJob& job, const std::string& key);

}  // namespace lull::night
