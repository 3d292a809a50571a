#include "cli/usage.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/choices.h"

namespace lull::cli {

namespace {

bool is_option(const std::string& word) { return word.size() > 1 && word[0] == '-'; }

std::string without_value(const std::string& word) { return word.substr(0, word.find('=')); }

std::vector<std::string> command_names(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::App* command : app.get_subcommands([](const CLI::App*) { return true; })) {
    names.push_back(command->get_name());
  }
  return names;
}

std::vector<std::string> option_names(const CLI::App& command) {
  std::vector<std::string> names;
  for (const CLI::Option* option : command.get_options()) {
    for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
  }
  return names;
}

std::string explain_no_command(const CLI::App& app, const std::vector<std::string>& words) {
  const auto commands = command_names(app);
  if (words.empty()) return fmt::format("name a command: {}.", listed(commands));
  if (is_option(words[0])) {
    return fmt::format("unknown option {}.{}", without_value(words[0]),
                       did_you_mean(without_value(words[0]), option_names(app)));
  }
  return fmt::format("unknown command '{}'.{} Valid: {}.", words[0],
                     did_you_mean(words[0], commands), listed(commands));
}

std::string explain_extra_words(const CLI::App& command) {
  const std::vector<std::string> extra = command.remaining();
  const auto option = std::find_if(extra.begin(), extra.end(), is_option);
  if (option != extra.end()) {
    const std::string name = without_value(*option);
    return fmt::format("{} has no option {}.{}", command.get_name(), name,
                       did_you_mean(name, option_names(command)));
  }
  return fmt::format(
      "{} takes one name here; '{}' is one too many. Put a name with spaces in quotes.",
      command.get_name(), extra.empty() ? std::string() : extra.front());
}

}  // namespace

std::string explain(const CLI::App& app, const CLI::ParseError& error,
                    const std::vector<std::string>& words) {
  const auto commands = command_names(app);
  const bool named =
      !words.empty() && std::find(commands.begin(), commands.end(), words[0]) != commands.end();
  if (!named) {
    return explain_no_command(app, words) + " 'lull --help' lists the commands.";
  }
  const std::string more = fmt::format(" 'lull {} --help' lists its options.", words[0]);
  const std::string problem = error.what();
  if (dynamic_cast<const CLI::ExtrasError*>(&error) != nullptr) {
    return explain_extra_words(*app.get_subcommand(words[0])) + more;
  }
  if (dynamic_cast<const CLI::ArgumentMismatch*>(&error) != nullptr) {
    return fmt::format("{} needs one value.{}", problem.substr(0, problem.find(':')), more);
  }
  return fmt::format("{}.{}", problem, more);
}

}  // namespace lull::cli
