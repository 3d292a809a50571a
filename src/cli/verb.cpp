#include "cli/verb.h"

namespace lull::cli {

void Verb::add(CLI::App& command, const run::OptionFacts& facts) {
  const std::string names =
      facts.short_name.empty() ? facts.name : facts.short_name + "," + facts.name;
  const std::string name = facts.name;
  CLI::Option* option = nullptr;
  if (facts.is_switch()) {
    option = command.add_flag_callback(
        names,
        [this, name] {
          given_.push_back({name, "true"});
        },
        facts.help);
  } else if (facts.many) {
    option = command.add_option_function<std::vector<std::string>>(
        names,
        [this, name](const std::vector<std::string>& texts) {
          for (const std::string& text : texts) given_.push_back({name, text});
        },
        facts.help);
    option->type_name(facts.value + "...");
  } else {
    option = command.add_option_function<std::string>(
        names,
        [this, name](const std::string& text) {
          given_.push_back({name, text});
        },
        facts.help);
    option->type_name(facts.by_place() ? "" : facts.value);
  }
  option->required(facts.required)->group(run::group_name(facts.group));
}

void Verb::define(CLI::App& app) {
  CLI::App* command = app.add_subcommand(name_, summary_);
  std::vector<run::OptionFacts> facts = options();
  std::stable_sort(facts.begin(), facts.end(),
                   [](const auto& a, const auto& b) { return a.group < b.group; });
  for (const run::OptionFacts& one : facts) add(*command, one);
  CLI::Option* recipe = command->get_option_no_throw("--recipe");
  if (recipe == nullptr) return;
  for (const run::OptionFacts& one : facts) {
    if (one.in_recipe == run::InRecipe::fixed) recipe->excludes(one.name);
  }
}

}  // namespace lull::cli
