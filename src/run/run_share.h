#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "run/animate_request.h"
#include "run/derotate_request.h"
#include "run/finish_request.h"
#include "run/inspect_request.h"
#include "run/master_request.h"
#include "run/merge_request.h"
#include "run/metrics_request.h"
#include "run/mosaic_request.h"
#include "run/plan_request.h"
#include "run/rank_request.h"
#include "run/stack_request.h"

namespace lull::run {

/// A stage of a run, by the name under which it reports progress.
struct Stage {
  std::string_view name;
  double cost = 1;  ///< expected time, in any unit that is the same for all stages of the run
  int rounds = 1;   ///< how often it goes through its frames
};

/// The stages of a run in their order. Those that the run then passes over cost nothing.
[[nodiscard]] std::vector<Stage> stages_of(const InspectRequest& request);
[[nodiscard]] std::vector<Stage> stages_of(const RankRequest& request);
[[nodiscard]] std::vector<Stage> stages_of(const StackRequest& request);
[[nodiscard]] std::vector<Stage> stages_of(const FinishRequest& request);
[[nodiscard]] std::vector<Stage> stages_of(const MergeRequest& request);
[[nodiscard]] std::vector<Stage> stages_of(const MosaicRequest& request);
[[nodiscard]] std::vector<Stage> stages_of(const AnimateRequest& request);
[[nodiscard]] std::vector<Stage> stages_of(const MasterRequest& request);
[[nodiscard]] std::vector<Stage> stages_of(const MetricsRequest& request);
[[nodiscard]] std::vector<Stage> stages_of(const DerotateRequest& request);
[[nodiscard]] std::vector<Stage> stages_of(const PlanRequest& request);  ///< none: no wait

/// How far a whole run is, from the progress of its stages. One thread.
class RunShare {
 public:
  explicit RunShare(std::vector<Stage> stages) : stages_(std::move(stages)) {}

  /// What Progress reports. @param total  0 = not known.
  void advance(std::string_view stage, std::int64_t done, std::int64_t total);

  /// 0 to 1; never less than before.
  [[nodiscard]] double share() const { return share_; }

  /// Whether the stage goes through its frames once, so that a count of them is of use.
  [[nodiscard]] bool counts_once() const;

  /// Cost of all stages.
  [[nodiscard]] double all() const;

  /// Time left, when so much has passed; none while too little was done to say.
  [[nodiscard]] std::optional<double> left_s(double passed_s) const;

 private:
  std::vector<Stage> stages_;
  std::size_t at_ = 0;
  int round_ = 0;
  std::int64_t done_ = 0;
  double before_ = 0;       ///< cost of the stages before this one
  double passed_over_ = 0;  ///< of these, cost of stages that did not come
  bool begun_ = false;
  double share_ = 0;
};

}  // namespace lull::run
