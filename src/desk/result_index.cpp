#include "desk/result_index.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>

#include "capture/folder.h"
#include "capture/plain_file.h"
#include "core/error.h"
#include "desk/problem.h"
#include "desk/result_names.h"
#include "files/name_text.h"
#include "files/recipe.h"

namespace lull::desk {

namespace {

namespace fs = std::filesystem;
using nlohmann::json;

constexpr std::size_t kLongestName = 200;

bool has_ending(const std::string& name, std::initializer_list<std::string_view> endings) {
  return std::any_of(endings.begin(), endings.end(),
                     [&](std::string_view ending) { return name.ends_with(ending); });
}

std::string kind_of(const std::string& name) {
  if (has_ending(name, {".recipe.json", ".finish.json"})) return "recipe";
  if (has_ending(name, {".linear.fits"})) return "linear";
  if (has_ending(name, {".html"})) return "report";
  if (has_ending(name, {".tif", ".tiff", ".png", ".fits", ".fit"})) return "picture";
  if (has_ending(name, {".jpg", ".jpeg"})) return "shared";
  return "other";
}

// Links are no results: they may lead anywhere.
void add_file(Result& result, const std::string& name, const capture::FileFacts& facts) {
  const std::string kind = kind_of(name);
  result.files.push_back({name, facts.bytes, kind});
  if (kind == "picture" && result.picture.empty()) result.picture = name;
  if (kind != "recipe") return;
  result.recipe_file = name;
  result.modified_s = facts.modified_s;
}

// The options that name what a run was made of; each belongs to one verb.
constexpr std::array<std::pair<const char*, const char*>, 7> kInputs = {{{"capture", "stack"},
                                                                         {"stack", "finish"},
                                                                         {"panel", "mosaic"},
                                                                         {"red", "merge"},
                                                                         {"green", "merge"},
                                                                         {"blue", "merge"},
                                                                         {"luminance", "merge"}}};

constexpr int kDeepest = 4;  // a picture of a mosaic of merged stacks

void add_captures_of(const Result& result, const std::vector<Result>& all, const fs::path& folder,
                     int depth, std::vector<std::string>& out) {
  for (const std::string& input : result.inputs) {
    if (result.verb == "stack") {
      const fs::path below = fs::absolute(input).lexically_normal().lexically_relative(
          (fs::absolute(folder) / "").lexically_normal());
      if (!below.empty()) out.push_back(capture::id_of(below.generic_string()));
      continue;
    }
    const std::string id = result_id(input);
    const auto stack = std::find_if(all.begin(), all.end(), [&](const Result& one) {
      return one.id == id && one.verb != "finish";
    });
    if (stack != all.end() && depth < kDeepest)
      add_captures_of(*stack, all, folder, depth + 1, out);
  }
}

}  // namespace

std::string Result::linear() const {
  for (const ResultFile& file : files) {
    if (file.kind == "linear") return file.name;
  }
  return {};
}

std::vector<std::string> captures_of(const Result& result, const std::vector<Result>& all,
                                     const fs::path& folder) {
  std::vector<std::string> out;
  add_captures_of(result, all, folder, 1, out);
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

json result_name_json(const Result& result) {
  return {{"id", result.id},
          {"name", files::name_text(result.picture.empty() ? result.stem : result.picture)}};
}

ResultIndex::Source ResultIndex::read_source(const json& recipe) {
  Source out;
  const json options = recipe.value("options", json::object());
  for (const auto& [key, verb] : kInputs) {
    const json value = options.value(key, json());
    for (const json& one : value.is_array() ? value : json::array({value})) {
      if (!one.is_string() || one == "") continue;
      out.verb = verb;
      out.inputs.push_back(files::name_of_text(one.get<std::string>()));
    }
  }
  return out;
}

ResultIndex::Source ResultIndex::source_of(const fs::path& recipe, std::int64_t modified_s,
                                           std::uintmax_t bytes) {
  const std::string name = recipe.filename().string();
  {
    const std::scoped_lock lock(guard_);
    const auto known = known_.find(name);
    if (known != known_.end() && known->second.modified_s == modified_s &&
        known->second.bytes == bytes)
      return known->second.source;
  }
  Source source;
  try {
    source = read_source(files::load_recipe(recipe));
  } catch (const RunError&) {  // a damaged recipe: the files are still there
  } catch (const json::exception&) {
  }
  const std::scoped_lock lock(guard_);
  known_[name] = {modified_s, bytes, source};
  return source;
}

std::vector<Result> ResultIndex::results() {
  std::map<std::string, Result> by_stem;
  std::map<std::string, capture::FileFacts> recipes;
  std::error_code error;
  for (fs::directory_iterator entry(folder_, error), end; !error && entry != end;
       entry.increment(error)) {
    const std::string name = entry->path().filename().string();
    const auto facts = capture::plain_file(entry->path(), capture::Links::refused);
    if (name.starts_with('.') || !facts) continue;
    const std::string stem = result_stem(name);
    if (by_stem.size() >= kMost && !by_stem.contains(stem)) continue;
    Result& result = by_stem[stem];
    result.stem = stem;
    result.id = result_id(name);
    add_file(result, name, *facts);
    if (result.recipe_file == name) recipes[stem] = *facts;
  }
  std::vector<Result> out;
  for (auto& [stem, result] : by_stem) {
    if (result.recipe_file.empty()) continue;
    const capture::FileFacts& facts = recipes.at(stem);
    Source source = source_of(folder_ / result.recipe_file, facts.modified_s, facts.bytes);
    result.verb = std::move(source.verb);
    result.inputs = std::move(source.inputs);
    std::sort(result.files.begin(), result.files.end(),
              [](const auto& a, const auto& b) { return a.name < b.name; });
    out.push_back(std::move(result));
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const auto& a, const auto& b) { return a.modified_s > b.modified_s; });
  return out;
}

Result ResultIndex::result(const std::string& id) {
  for (Result& result : results()) {
    if (result.id == id) return std::move(result);
  }
  throw Problem(404, "there is no such result", "GET /api/results lists them");
}

json ResultIndex::recipe(const Result& result) const {
  return files::load_recipe(folder_ / result.recipe_file);
}

fs::path ResultIndex::path_of(const Result& result, const std::string& name) const {
  const bool known = std::any_of(result.files.begin(), result.files.end(),
                                 [&](const ResultFile& file) { return file.name == name; });
  if (!known || !capture::plain_file(folder_ / name, capture::Links::refused))
    throw Problem(404, "the result has no such file", "GET /api/results/ID lists them");
  return folder_ / name;
}

void check_result_name(const std::string& name) {
  const bool plain = std::none_of(name.begin(), name.end(), [](char c) {
    return c == '/' || std::iscntrl(static_cast<unsigned char>(c)) != 0;
  });
  if (plain && !name.empty() && name.front() != '.' && name.size() <= kLongestName) return;
  throw Problem(400, fmt::format("'{}' is no name for a result", name),
                "give a name without a folder, such as moon.tif");
}

}  // namespace lull::desk
