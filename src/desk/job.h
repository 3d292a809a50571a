#pragma once

#include <cstdint>
#include <functional>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "desk/problem.h"
#include "run/control.h"
#include "run/run_share.h"

namespace lull::desk {

enum class JobState { waiting, running, paused, done, failed, cancelled, interrupted };

[[nodiscard]] std::string state_name(JobState state);

/// @throws std::out_of_range for another word.
[[nodiscard]] JobState state_of_name(const std::string& name);

/// What a job is asked for, as it is shown and as it can be asked for again.
struct JobFacts {
  std::string verb;
  std::vector<std::string> captures;  ///< ids
  std::vector<std::string> names;     ///< of the captures, or of the result that is worked on
  std::string output;                 ///< name of its first result; empty: it writes none
  std::string command;                ///< that does the same on the command line
  nlohmann::json request;             ///< the body that made it, or null
};

/// A job, and how far it is.
struct Job {
  int id = 0;
  JobFacts facts{};
  JobState state = JobState::waiting;
  std::string stage{};
  std::int64_t done = 0;
  std::int64_t total = 0;
  double share = 0;
  std::optional<double> left_s{};
  std::int64_t created_s = 0;  ///< since 1970, UTC; 0 = not yet
  std::int64_t started_s = 0;
  std::int64_t ended_s = 0;
  std::optional<Problem> problem{};
  std::vector<std::string> warnings{};
  std::vector<std::string> written{};  ///< files

  [[nodiscard]] bool has_ended() const {
    return state != JobState::waiting && state != JobState::running && state != JobState::paused;
  }
};

/// What a run leaves, beside its files.
struct JobOutcome {
  std::vector<std::string> written;
  std::vector<std::string> warnings;
};

/// How a job is done.
struct JobWork {
  std::vector<run::Stage> stages;
  std::function<JobOutcome(const run::RunControl&)> run;
};

/// "2026-03-01T20:14:03Z"; null for 0.
[[nodiscard]] nlohmann::json time_json(std::int64_t seconds);

/// As the interface shows it.
[[nodiscard]] nlohmann::json to_json(const Job& job);

}  // namespace lull::desk
