#pragma once

#include <list>
#include <memory>
#include <mutex>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "capture/folder.h"
#include "run/inspect_outcome.h"
#include "run/rank_outcome.h"

namespace lull::desk {

/// What passes over a capture found. Does not change once it is there.
struct SurveyOfCapture {
  capture::FoundCapture found;  ///< as the capture was then
  run::RankRequest request;
  run::RankOutcome rank;
  double ranking_s = 0;                        ///< that ranking took
  std::optional<run::InspectOutcome> inspect;  ///< none: the second pass has not ended
};

/// How healthy a capture is, in a word, and what to do next time.
struct HealthInWords {
  std::string word;  ///< good: nothing was found; fair: one or two things; poor: more
  std::vector<std::string> advice;
};

[[nodiscard]] HealthInWords health_of(const run::InspectOutcome& inspect);

/// As the interface shows it.
[[nodiscard]] nlohmann::json to_json(const SurveyOfCapture& survey, const std::string& id);

[[nodiscard]] nlohmann::json to_json(const HealthInWords& health);

/// The surveys made since the desk began: the newest of each capture, and of all together so many
/// that their frames take a bounded memory. Any thread.
class Surveys {
 public:
  static constexpr std::size_t kMostFrames = 1'000'000;  ///< about 240 bytes each

  void put(std::shared_ptr<const SurveyOfCapture> survey);

  /// Null where there is none, or the capture has changed since.
  [[nodiscard]] std::shared_ptr<const SurveyOfCapture> find(
      const capture::FoundCapture& capture) const;

 private:
  mutable std::mutex guard_;
  std::list<std::shared_ptr<const SurveyOfCapture>> surveys_;  ///< the newest first
};

}  // namespace lull::desk
