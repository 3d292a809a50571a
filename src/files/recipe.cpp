#include "files/recipe.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "core/assert.h"
#include "core/error.h"
#include "files/atomic_file.h"
#include "files/failure.h"
#include "files/name_text.h"

namespace lull::files {

using nlohmann::json;

namespace {

constexpr const char* kTag = "lull_recipe";
constexpr std::size_t kMaxBytes = std::size_t{16} << 20U;
constexpr int kMaxDepth = 32;

InputError bad_recipe(const std::filesystem::path& path, std::string_view why) {
  return InputError(fmt::format("cannot use the recipe '{}': {}", path.string(), why));
}

std::string read_text(const std::filesystem::path& path) {
  const std::string why = why_unreadable(path);
  if (!why.empty()) throw bad_recipe(path, why);
  std::string text = first_bytes(path, kMaxBytes + 1);
  if (text.size() > kMaxBytes) {
    throw bad_recipe(path, "it is larger than 16 MiB; recipes are a few kilobytes");
  }
  return text;
}

/// The parser counts bytes from 1; people count lines and columns.
std::string place_of(std::string_view text, std::size_t byte) {
  const std::string_view before = text.substr(0, std::min(byte > 0 ? byte - 1 : 0, text.size()));
  const auto line = 1 + std::count(before.begin(), before.end(), '\n');
  const std::size_t line_start = before.rfind('\n') + 1;  // npos + 1 is 0
  return fmt::format("line {}, column {}", line, before.size() - line_start + 1);
}

json parse(const std::filesystem::path& path, std::string_view text) {
  const auto refuse_deep = [&](int depth, json::parse_event_t, const json&) {
    if (depth > kMaxDepth) throw bad_recipe(path, "it is nested deeper than any recipe");
    return true;
  };
  try {
    return json::parse(text, refuse_deep);
  } catch (const json::parse_error& error) {
    throw bad_recipe(path,
                     fmt::format("it is not valid JSON at {}; correct it there, or save it again",
                                 place_of(text, error.byte)));
  } catch (const json::exception&) {  // a number that no double can hold
    throw bad_recipe(path, "it holds a number that is out of range");
  }
}

}  // namespace

void save_recipe(const std::filesystem::path& path, const json& recipe) {
  LULL_ASSERT(recipe.is_object());
  json tagged = recipe;
  tagged[kTag] = kRecipeVersion;
  write_file(path, json_text(tagged, 2) + "\n");
}

json load_recipe(const std::filesystem::path& path) {
  json recipe = parse(path, read_text(path));
  if (!recipe.is_object() || !recipe.contains(kTag)) {
    throw bad_recipe(path, "it is not a recipe: the entry \"lull_recipe\" is missing");
  }
  if (recipe[kTag] != kRecipeVersion) {
    throw bad_recipe(path, fmt::format("its layout is \"lull_recipe\": {}, and this version of the "
                                       "program reads {}; use the version that wrote it",
                                       recipe[kTag].dump(), kRecipeVersion));
  }
  return recipe;
}

}  // namespace lull::files
