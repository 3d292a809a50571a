#include <nlohmann/json.hpp>

#include "core/error.h"
#include "files/recipe.h"
#include "fuzz/temporary_file.h"

// Recipes: an InputError, or an object with the tag.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lull;
  const fuzz::TemporaryFile file(data, size);
  try {
    const nlohmann::json recipe = files::load_recipe(file.path());
    if (!recipe.is_object() || !recipe.contains("lull_recipe")) __builtin_trap();
  } catch (const RunError&) {
    return 0;
  }
  return 0;
}
