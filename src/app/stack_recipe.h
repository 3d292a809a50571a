#pragma once

#include <nlohmann/json_fwd.hpp>

#include "app/commands.h"

namespace lull::app {

/// Options that decide the bytes of the result and of the report, by their names in recipes;
/// threads and memory do not.
[[nodiscard]] nlohmann::json recipe_options(const StackCommandOptions& options);

/// Options of the earlier run whose recipe is given; what the command line names (the capture, if
/// any, the output, the optics and the object) goes before them.
/// @throws InputError for a recipe that cannot be read.
[[nodiscard]] StackCommandOptions from_recipe(StackCommandOptions options);

}  // namespace lull::app
