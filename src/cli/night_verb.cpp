#include "cli/night_verb.h"

#include "cli/night_screen.h"
#include "cli/texts.h"
#include "core/error.h"
#include "core/words.h"
#include "night/plan_file.h"

namespace lull::cli {

namespace {

using night::Action;
using night::NightOutcome;
using night::NightRequest;

NightOutcome outcome_of(const NightRequest& request, const profile::Profile& profile,
                        const night::NightControl& control) {
  if (request.job > 0) return night::run_job(request, control);
  if (request.action == Action::plan) return night::run_plan(request, profile, control);
  if (request.action == Action::gather) return night::run_gather(request);
  return night::run_night(request, profile, control);
}

void print(const NightRequest& request, const NightOutcome& outcome, Form form) {
  const bool is_plan = request.action == Action::plan;
  if (form == Form::json) {
    const nlohmann::json json = is_plan ? night::to_json(outcome.plan) : night_json(outcome);
    fmt::print("{}\n", files::json_text(json, 1));
  } else if (is_plan) {
    // As it stands: it can be kept and run.
    fmt::print("{}", night::plan_text(outcome.plan));
  } else {
    fmt::print("{}", fitted_lines(printable(night_text(outcome)), terminal_columns()));
  }
}

}  // namespace

NightVerb::NightVerb()
    : Verb("night", "Every capture of a folder, with one page over all",
           "lull night captures/ -o results/"),
      resources_(run::thread_options()),
      presentation_(presentation_options(Repeats::nothing)) {
  run::append(resources_, run::memory_options());
  run::append(resources_, run::overwrite_options());
}

std::vector<run::OptionFacts> NightVerb::options() const {
  std::vector<run::OptionFacts> out;
  for (const auto& option : night::night_options()) out.push_back(option.facts);
  for (const auto& option : resources_) out.push_back(option.facts);
  for (const auto& option : presentation_) out.push_back(option.facts);
  return out;
}

void NightVerb::execute(const CancelToken& cancel) {
  Presentation presentation;
  apply(presentation_, presentation);
  night::NightControl control;
  apply(resources_, control.resources);
  NightRequest request;
  apply(night::night_options(), request);
  night::check_request(request);
  profile::Profile profile;
  if (!presentation.profile.empty()) profile = run::load_profile(presentation.profile);
  set_thread_count(control.resources.threads);
  control.cancel = cancel;
  NightOutcome outcome;
  {
    NightScreen screen(presentation.progress_style());
    control.watcher = screen.watcher();
    control.progress = screen.progress(cancel);
    outcome = outcome_of(request, profile, control);
  }
  print(request, outcome, presentation.form);
  if (const std::size_t problems = outcome.problems(); problems > 0) {
    if (request.action == Action::plan) return;
    throw NothingUsable(fmt::format("{} failed; the reasons are above",
                                    counted(static_cast<std::int64_t>(problems), "capture")));
  }
}

}  // namespace lull::cli
