#include "run/run_share.h"

#include <algorithm>

namespace lull::run {

namespace {

// Costs are relative to reading and ranking the frames once (a guide for the time left, nothing
// more): of `stack` as bench/README.md tells them of 1,000 frames, others as measured on samples.
constexpr double kMarksCost = 0.3;
constexpr double kMasterCost = 0.3;
constexpr double kStackingAll = 12;   // all frames, fused
constexpr double kUsualShare = 0.5;   // of frames that --keep auto stacks before it stops
constexpr double kSelection = 0.5;    // of the time of fusion
constexpr double kLeastShare = 0.02;  // of the work, before a time is given

void add_opening(const CaptureInput& input, std::vector<Stage>& stages) {
  if (input.dark.empty()) stages.push_back({"measuring the sensor", kMarksCost});
  for (const std::string& master : {input.dark, input.flat, input.flat_dark}) {
    if (master.empty()) continue;
    stages.push_back({"measuring calibration frames", kMasterCost});
    stages.push_back({"averaging calibration frames", kMasterCost});
  }
}

// Of a count the share is not known yet.
double stacking_cost(const Stacking& stacking) {
  const auto* fraction = std::get_if<quality::KeepFraction>(&stacking.keep);
  const double share = fraction != nullptr ? fraction->fraction : kUsualShare;
  return kStackingAll * share * (stacking.fusion == FusionChoice::selection ? kSelection : 1);
}

}  // namespace

std::vector<Stage> stages_of(const InspectRequest& request) {
  std::vector<Stage> stages;
  add_opening(request.input, stages);
  stages.push_back({"ranking", 1});
  return stages;
}

std::vector<Stage> stages_of(const RankRequest& request) {
  std::vector<Stage> stages;
  add_opening(request.input, stages);
  stages.push_back({"ranking", 1});
  if (!request.best_first.empty()) stages.push_back({"writing the best frames", 2});
  return stages;
}

std::vector<Stage> stages_of(const StackRequest& request) {
  std::vector<Stage> stages;
  add_opening(request.input, stages);
  stages.push_back({"ranking", request.report_path().empty() ? 1.0 : 1.5});
  stages.push_back({"reference", 5, 9});
  stages.push_back({"stacking", stacking_cost(request.stacking)});
  if (request.finish == FinishChoice::automatic) {
    stages.push_back({"measuring the blur", 1});
    stages.push_back({"measuring the air", 1.5});
  }
  if (!request.report_path().empty()) stages.push_back({"report", 0.5});
  stages.push_back({"writing", 0.5});
  return stages;
}

std::vector<Stage> stages_of(const FinishRequest& /*request*/) {
  return {{"reading", 1}, {"restoring detail", 4}, {"writing", 1}};
}

std::vector<Stage> stages_of(const MergeRequest& /*request*/) {
  return {{"reading", 1},         {"measuring the blur", 1}, {"registering", 4},
          {"joining colours", 1}, {"restoring detail", 4},   {"writing", 1}};
}

std::vector<Stage> stages_of(const MosaicRequest& /*request*/) {
  return {{"reading", 1}, {"finding overlaps", 1}, {"registering", 4, 5}, {"comparing blurs", 1},
          {"joining", 3}, {"restoring detail", 5}, {"writing", 1}};
}

std::vector<Stage> stages_of(const AnimateRequest& /*request*/) {
  return {{"registering", 4}, {"choosing colours", 1}, {"writing the film", 2}};
}

std::vector<Stage> stages_of(const MasterRequest& request) {
  std::vector<Stage> stages = {{"measuring calibration frames", 1},
                               {"averaging calibration frames", 1},
                               {"measuring noise", 0.5}};
  if (!request.flat_dark.empty()) {
    stages.push_back({"measuring calibration frames", 1});
    stages.push_back({"averaging calibration frames", 1});
    stages.push_back({"measuring noise", 0.5});
  }
  return stages;
}

std::vector<Stage> stages_of(const MetricsRequest& request) {
  std::vector<Stage> stages;
  for (std::size_t i = 0; i < request.input.captures.size(); ++i) {
    add_opening(request.input, stages);
    stages.push_back({"ranking", 1});
    stages.push_back({"measuring", 4});
  }
  return stages;
}

std::vector<Stage> stages_of(const DerotateRequest& /*request*/) {
  return {{"reading", 1},
          {"finding north", 1},
          {"finding the limb", 3},
          {"turning", 2},
          {"writing", 0.5}};
}

std::vector<Stage> stages_of(const PlanRequest& /*request*/) { return {}; }

double RunShare::all() const {
  double sum = 0;
  for (const Stage& stage : stages_) sum += stage.cost;
  return sum;
}

void RunShare::advance(std::string_view stage, std::int64_t done, std::int64_t total) {
  std::size_t found = at_;
  while (found < stages_.size() && stages_[found].name != stage) ++found;
  if (found == stages_.size()) return;
  const bool next = found != at_ || !begun_;
  if (!next && done < done_) ++round_;
  for (; at_ < found; ++at_) {
    before_ += stages_[at_].cost;
    if (!begun_) passed_over_ += stages_[at_].cost;
    begun_ = false;
  }
  begun_ = true;
  if (next) round_ = 0;
  done_ = done;
  const Stage& current = stages_[at_];
  const double part = total > 0 ? static_cast<double>(done) / static_cast<double>(total) : 0;
  const double through = std::min((round_ + std::clamp(part, 0.0, 1.0)) / current.rounds, 1.0);
  share_ = std::max(share_, (before_ + through * current.cost) / all());
}

bool RunShare::counts_once() const { return at_ < stages_.size() && stages_[at_].rounds == 1; }

std::optional<double> RunShare::left_s(double passed_s) const {
  const double worked = share_ * all() - passed_over_;
  if (worked < kLeastShare * all()) return std::nullopt;
  return passed_s * (1 - share_) * all() / worked;
}

}  // namespace lull::run
