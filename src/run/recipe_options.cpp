#include "run/recipe_options.h"

#include <utility>

#include "files/name_text.h"
#include "files/recipe.h"

namespace lull::run {

nlohmann::json recipe_value(nlohmann::json value) {
  if (value.is_string()) return files::name_text(value.get<std::string>());
  if (value.is_array())
    for (nlohmann::json& one : value) one = recipe_value(std::move(one));
  return value;
}

std::vector<std::string> texts_of_recipe(const nlohmann::json& value) {
  std::vector<std::string> texts = option_texts(value);
  for (std::string& text : texts) text = files::name_of_text(text);
  return texts;
}

void require_key(const nlohmann::json& options, const OptionFacts& facts, const std::string& path) {
  if (options.contains(facts.recipe_key())) return;
  throw InputError(fmt::format("{}: the recipe lacks the option '{}'; use a recipe that lull wrote",
                               path, facts.recipe_key()));
}

nlohmann::json load_options(const std::string& path) {
  const nlohmann::json recipe = files::load_recipe(path);
  if (recipe.contains("options") && recipe.at("options").is_object()) return recipe.at("options");
  throw InputError(
      fmt::format("{}: the recipe lacks its options; use a recipe that lull wrote", path));
}

}  // namespace lull::run
