#pragma once

#include <filesystem>
#include <nlohmann/json_fwd.hpp>

namespace lull::files {

/// Version of the recipe layout: the value of its tag "lull_recipe".
inline constexpr int kRecipeVersion = 1;

/// Writes a recipe: a JSON object, indented, keys sorted, with the tag {"lull_recipe": 1} added.
/// The file appears complete or not at all.
/// @param recipe an object.
/// @throws OutputError, also when a text in it (a file name) is not UTF-8.
void save_recipe(const std::filesystem::path& path, const nlohmann::json& recipe);

/// Reads a recipe; the tag is checked and left in. What the keys mean is checked by their users.
/// @throws InputError: missing, larger than 16 MiB, not JSON (with line and column), nested deeper
///         than 32 levels, not a recipe, or of a newer layout.
[[nodiscard]] nlohmann::json load_recipe(const std::filesystem::path& path);

}  // namespace lull::files
