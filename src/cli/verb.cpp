#include "cli/verb.h"

#include <algorithm>

#include "core/error.h"

namespace lull::cli {

void Verb::add(CLI::App& command, const run::OptionFacts& facts) {
  const std::string names =
      facts.short_name.empty() ? facts.name : facts.short_name + "," + facts.name;
  const std::string name = facts.name;
  if (facts.is_switch()) {
    command.add_flag_callback(
        names,
        [this, name] {
          given_.push_back({name, "true"});
        },
        facts.help);
  } else if (facts.takes_many()) {
    CLI::Option* option = command.add_option_function<std::vector<std::string>>(
        names,
        [this, name](const std::vector<std::string>& texts) {
          for (const std::string& text : texts) given_.push_back({name, text});
        },
        facts.help);
    option->type_name(facts.value + "...");
    option->allow_extra_args(facts.by_place());  // by name: one value each time it is given
  } else {
    CLI::Option* option = command.add_option_function<std::string>(
        names,
        [this, name](const std::string& text) {
          given_.push_back({name, text});
        },
        facts.help);
    option->type_name(facts.by_place() ? "" : facts.value);
  }
}

void Verb::define(CLI::App& app) {
  CLI::App* command = app.add_subcommand(name_, summary_);
  command->formatter_fn([this](const CLI::App*, const std::string&, CLI::AppFormatMode) {
    return help_text(help(), terminal_columns());
  });
  for (const run::OptionFacts& facts : options()) add(*command, facts);
}

void Verb::check_recipe_alone() const {
  if (std::any_of(given_.begin(), given_.end(),
                  [](const Given& one) { return one.name == "--profile"; })) {
    throw UsageError(
        "--recipe and --profile: the recipe holds what its profile gave; leave one of the two out");
  }
  for (const run::OptionFacts& facts : options()) {
    const bool given = std::any_of(given_.begin(), given_.end(),
                                   [&](const Given& one) { return one.name == facts.name; });
    if (!given || facts.in_recipe != run::InRecipe::fixed) continue;
    throw UsageError(fmt::format(
        "{} and --recipe: the recipe holds this option; leave one of the two out", facts.name));
  }
}

}  // namespace lull::cli
