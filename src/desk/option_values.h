#pragma once

#include <algorithm>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "core/choices.h"
#include "desk/problem.h"
#include "run/option.h"

/// Options as a request of the interface gives them, and as the forms need them.
namespace lull::desk {

/// The values of one option, as the command line takes them. @throws Problem 400: no value.
[[nodiscard]] std::vector<std::string> texts_of_option(const std::string& name,
                                                       const nlohmann::json& value,
                                                       const run::OptionFacts& facts);

/// Of a table, the names that are not among `refused`. @throws Problem 400 for any other.
void check_option_names(const nlohmann::json& options, const std::vector<std::string>& known);

/// Sets what {"--keep": "15%", ...} gives, each value checked as on the command line.
/// @param refused  options that the interface sets itself.
/// @throws Problem 400, UsageError.
template <class Request>
void apply_options(const run::OptionTable<Request>& table, const nlohmann::json& options,
                   const std::vector<std::string>& refused, Request& request) {
  std::vector<std::string> known;
  for (const auto& option : table) {
    const std::string& name = option.facts.name;
    if (std::find(refused.begin(), refused.end(), name) == refused.end()) known.push_back(name);
  }
  check_option_names(options, known);
  for (const auto& option : table) {
    const auto given = options.find(option.facts.name);
    if (given == options.end()) continue;
    run::set_all(option, request, texts_of_option(option.facts.name, *given, option.facts));
  }
}

}  // namespace lull::desk
