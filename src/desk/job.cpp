#include "desk/job.h"

#include <filesystem>
#include <map>

#include "core/utc.h"
#include "desk/result_names.h"
#include "files/name_text.h"

namespace lull::desk {

namespace {

const std::vector<std::pair<JobState, std::string>>& state_names() {
  static const std::vector<std::pair<JobState, std::string>> names = {
      {JobState::waiting, "waiting"},        {JobState::running, "running"},
      {JobState::paused, "paused"},          {JobState::done, "done"},
      {JobState::failed, "failed"},          {JobState::cancelled, "cancelled"},
      {JobState::interrupted, "interrupted"}};
  return names;
}

// Seconds from the origin of Utc to 1970-01-01: 719,162 days.
constexpr std::int64_t kUnixEpoch_s = std::int64_t{719'162} * 86'400;

}  // namespace

std::string state_name(JobState state) {
  for (const auto& [known, name] : state_names()) {
    if (known == state) return name;
  }
  return {};
}

JobState state_of_name(const std::string& name) {
  for (const auto& [state, known] : state_names()) {
    if (known == name) return state;
  }
  throw std::out_of_range("no state of a job: " + name);
}

nlohmann::json time_json(std::int64_t seconds) {
  if (seconds <= 0) return nullptr;
  return iso8601(Utc{(seconds + kUnixEpoch_s) * kTicksPerSecond}, 0) + "Z";
}

nlohmann::json to_json(const Job& job) {
  nlohmann::json results = nlohmann::json::array();
  if (!job.written.empty()) results.push_back(result_id(job.written.front()));
  return {{"id", job.id},
          {"verb", job.facts.verb},
          {"captures", job.facts.captures},
          {"names", files::name_texts(job.facts.names)},
          {"output", files::name_text(job.facts.output)},
          {"state", state_name(job.state)},
          {"stage", job.stage},
          {"done", job.done},
          {"total", job.total},
          {"share", job.share},
          {"left_s", job.left_s ? nlohmann::json(*job.left_s) : nlohmann::json()},
          {"created_utc", time_json(job.created_s)},
          {"started_utc", time_json(job.started_s)},
          {"ended_utc", time_json(job.ended_s)},
          {"error", job.problem ? to_json(*job.problem) : nlohmann::json()},
          {"warnings", job.warnings},
          {"results", results},
          {"command", files::utf8_text(job.facts.command)}};
}

}  // namespace lull::desk
