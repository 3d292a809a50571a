#include "run/recipe_options.h"

#include "files/recipe.h"

namespace lull::run {

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
