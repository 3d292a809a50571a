#include "cli/desk_verb.h"
#include "cli/night_verb.h"
#include "cli/profile_verb.h"
#include "cli/texts.h"
#include "cli/verb.h"

namespace lull::cli {

namespace {

run::OptionTable<run::Resources> all_resources() {
  run::OptionTable<run::Resources> table = run::thread_options();
  run::append(table, run::memory_options());
  run::append(table, run::overwrite_options());
  return table;
}

run::OptionTable<run::Resources> without_memory() {
  run::OptionTable<run::Resources> table = run::thread_options();
  run::append(table, run::overwrite_options());
  return table;
}

template <class Request, class Outcome>
std::unique_ptr<Verb> verb(std::string name, std::string summary, std::string example,
                           const run::OptionTable<Request>& table,
                           run::OptionTable<run::Resources> resources,
                           Work<Request, Outcome> work) {
  return std::make_unique<WorkingVerb<Request, Outcome>>(
      std::move(name), std::move(summary), std::move(example), table, std::move(resources), work);
}

}  // namespace

std::vector<std::unique_ptr<Verb>> all_verbs() {
  using namespace run;
  std::vector<std::unique_ptr<Verb>> verbs;
  verbs.push_back(verb<InspectRequest, InspectOutcome>(
      "inspect", "What a capture is, and whether it is healthy", "lull inspect moon.ser",
      inspect_options(), all_resources(), {run_inspect, to_json, inspect_text}));
  verbs.push_back(verb<RankRequest, RankOutcome>(
      "rank", "Sharpness of every frame, as a table and a video",
      "lull rank moon.ser --csv frames.csv", rank_options(), all_resources(),
      {run_rank, to_json, rank_text, nullptr, require_ranked}));
  verbs.push_back(verb<StackRequest, StackOutcome>(
      "stack", "Rank, register, stack and restore detail", "lull stack moon.ser", stack_options(),
      all_resources(), {run_stack, to_json, stack_text, stack_request_of_recipe}));
  verbs.push_back(verb<FinishRequest, FinishOutcome>(
      "finish", "Detail and colour on an existing stack",
      "lull finish moon_stack.linear.fits --detail 1.5:2.0,3:1.6", finish_options(),
      without_memory(), {run_finish, to_json, finish_text, finish_request_of_recipe}));
  verbs.push_back(verb<MergeRequest, MergeOutcome>(
      "merge", "Stacks of several filters to one picture in colour",
      "lull merge --red r.linear.fits --green g.linear.fits --blue b.linear.fits -o mars.tif",
      merge_options(), without_memory(),
      {run_merge, to_json, merge_text, merge_request_of_recipe}));
  verbs.push_back(verb<MosaicRequest, MosaicOutcome>(
      "mosaic", "Overlapping panels to one picture without a seam",
      "lull mosaic moon_*.linear.fits -o moon.tif", mosaic_options(), all_resources(),
      {run_mosaic, to_json, mosaic_text, mosaic_request_of_recipe}));
  verbs.push_back(verb<AnimateRequest, AnimateOutcome>(
      "animate", "A film of a series of stacks, aligned",
      "lull animate jupiter_*.linear.fits -o jupiter.mp4", animate_options(), without_memory(),
      {run_animate, to_json, animate_text}));
  verbs.push_back(verb<MasterRequest, MasterOutcome>(
      "master", "Combine darks or flats into one calibration file",
      "lull master darks/ --kind dark", master_options(), without_memory(),
      {run_master, to_json, master_text}));
  verbs.push_back(verb<MetricsRequest, MetricsOutcome>(
      "metrics", "How well each sharpness measure ranks a capture",
      "lull metrics test.mkv --truth test.frames.csv", metrics_options(), all_resources(),
      {run_metrics, to_json, metrics_text}));
  verbs.push_back(std::make_unique<NightVerb>());
  verbs.push_back(std::make_unique<ProfileVerb>());
  verbs.push_back(verb<DerotateRequest, DerotateOutcome>(
      "derotate", "Bring stacks of a turning planet to one moment",
      "lull derotate jupiter_*.linear.fits", derotate_options(), without_memory(),
      {run_derotate, to_json, derotate_text}));
  verbs.push_back(
      verb<PlanRequest, PlanOutcome>("plan", "When, how long and at what scale to record",
                                     "lull plan jupiter --site 46.5,8.25,1650", plan_options(),
                                     overwrite_options(), {run_plan, to_json, plan_text}));
  verbs.push_back(std::make_unique<DeskVerb>());
  return verbs;
}

}  // namespace lull::cli
