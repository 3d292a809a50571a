#include "cli/profile_verb.h"

#include "cli/texts.h"
#include "night/name_facts.h"
#include "profile/example.h"

namespace lull::cli {

ProfileVerb::ProfileVerb()
    : Verb("profile", "Describe an instrument once, for every command",
           "lull profile check ridge.toml"),
      presentation_(json_options()) {}

std::vector<run::OptionFacts> ProfileVerb::options() const {
  std::vector<run::OptionFacts> out;
  for (const auto& option : run::profile_options()) out.push_back(option.facts);
  for (const auto& option : presentation_) out.push_back(option.facts);
  return out;
}

void ProfileVerb::execute(const CancelToken& /*cancel*/) {
  Presentation presentation;
  apply(presentation_, presentation);
  run::ProfileRequest request;
  apply(run::profile_options(), request);
  if (request.action == run::ProfileAction::example) {
    fmt::print("{}", profile::kExampleFile);
    return;
  }
  const profile::Profile profile = run::checked_profile(request);
  // Its patterns of names are those of a night.
  static_cast<void>(night::NameReader(profile));
  if (presentation.form == Form::json) {
    fmt::print("{}\n", files::json_text(run::to_json(profile), 1));
  } else {
    fmt::print("{}", fitted_lines(printable(profile_text(profile)), terminal_columns()));
  }
}

}  // namespace lull::cli
