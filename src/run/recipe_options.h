#pragma once

#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "core/error.h"
#include "run/option.h"

namespace lull::run {

/// A value, or several, as recipes hold them: names of files as files::name_text() writes them.
[[nodiscard]] nlohmann::json recipe_value(nlohmann::json value);

/// The same read back, as the command line takes them.
[[nodiscard]] std::vector<std::string> texts_of_recipe(const nlohmann::json& value);

/// The options of a request that a recipe holds, by their keys: those that decide the bytes of the
/// results.
template <class Request>
[[nodiscard]] nlohmann::json recipe_of(const OptionTable<Request>& table, const Request& request) {
  nlohmann::json out = nlohmann::json::object();
  for (const Option<Request>& option : table) {
    if (option.facts.in_recipe == InRecipe::no) continue;
    out[option.facts.recipe_key()] = recipe_value(option.get(request));
  }
  return out;
}

/// @throws InputError for a key that a recipe lacks.
void require_key(const nlohmann::json& options, const OptionFacts& facts, const std::string& path);

/// The options object of the recipe in a file. @throws InputError when it cannot be read.
[[nodiscard]] nlohmann::json load_options(const std::string& path);

/// The request that a recipe holds, each value checked as on the command line.
/// @param path  for messages. @throws InputError: a key is missing, a value is not valid.
template <class Request>
[[nodiscard]] Request request_of(const OptionTable<Request>& table, const nlohmann::json& options,
                                 const std::string& path) {
  Request request;
  for (const Option<Request>& option : table) {
    if (option.facts.in_recipe == InRecipe::no) continue;
    const std::string key = option.facts.recipe_key();
    if (option.facts.earlier.empty()) require_key(options, option.facts, path);
    const nlohmann::json value =
        options.contains(key) ? options.at(key) : nlohmann::json(option.facts.earlier);
    // What is so by default need not be valid as an option: no file, no aperture.
    const std::vector<std::string> texts = texts_of_recipe(value);
    if (texts == option_texts(option.get(request))) continue;
    try {
      if (texts.size() != 1 && !option.facts.takes_many())
        throw UsageError(option.facts.name + " takes one value");
      set_all(option, request, texts);
    } catch (const UsageError& error) {
      throw InputError(fmt::format("{}: {}", path, error.what()));
    }
  }
  return request;
}

}  // namespace lull::run
