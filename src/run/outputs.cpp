#include "run/outputs.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "capture/sequence_pattern.h"
#include "core/error.h"
#include "files/atomic_file.h"
#include "files/left_files.h"
#include "files/place.h"

namespace lull::run {

namespace {

namespace fs = std::filesystem;

// Also of files that do not exist yet.
bool same_target(const std::string& one, const std::string& other) {
  return files::same_file(one, other) || files::place_of(one) == files::place_of(other);
}

// Whether the output has the place and the name of a picture of a numbered sequence.
bool belongs_to_sequence(const fs::path& output, const std::string& input) {
  const auto pattern = capture::parse_pattern(input);
  return pattern && pattern->digits_in(output.filename().string()) &&
         files::place_of(output).parent_path() == files::place_of(input).parent_path();
}

void check_not_input(const std::string& result, const std::string& input) {
  if (belongs_to_sequence(result, input)) {
    throw UsageError(
        fmt::format("{}: this is the name of a picture of the sequence {}, an input of the run; "
                    "choose another name",
                    result, input));
  }
  if (same_target(result, input)) {
    throw UsageError(fmt::format(
        "{}: this is an input of the run and would be overwritten; choose another name", result));
  }
}

std::vector<std::string> given(const std::vector<std::string>& names) {
  std::vector<std::string> out;
  std::copy_if(names.begin(), names.end(), std::back_inserter(out),
               [](const std::string& name) { return !name.empty(); });
  return out;
}

void check_distinct(const std::vector<std::string>& results) {
  for (std::size_t i = 0; i < results.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (!same_target(results[i], results[j])) continue;
      throw UsageError(
          fmt::format("{}: two results of the run cannot have the same name; choose another for "
                      "one of them",
                      results[i]));
    }
  }
}

void check_new(const std::vector<std::string>& results) {
  std::vector<std::string> existing;
  std::copy_if(results.begin(), results.end(), std::back_inserter(existing),
               [](const std::string& name) {
                 std::error_code ignored;
                 return fs::exists(name, ignored);
               });
  if (existing.empty()) return;
  throw OutputError(
      fmt::format("{} {} already; choose another name, or replace {} with --overwrite",
                  fmt::join(existing, ", "), existing.size() == 1 ? "exists" : "exist",
                  existing.size() == 1 ? "it" : "them"));
}

}  // namespace

std::string name_after(const std::string& input, const std::string& ending) {
  std::error_code ignored;
  fs::path path = fs::absolute(input, ignored).lexically_normal();
  if (!path.has_filename()) path = path.parent_path();  // of "darks/"
  if (!fs::is_directory(path, ignored)) path.replace_extension();
  if (path.extension() == ".linear") path.replace_extension();
  std::string name = path.filename().string();
  if (const auto pattern = capture::parse_pattern(name)) {
    name = pattern->before.substr(0, pattern->before.find_last_not_of("-_. ") + 1) + pattern->after;
  }
  return (name.empty() ? "frames" : name) + ending;
}

void check_results(const std::vector<std::string>& results, const std::vector<std::string>& inputs,
                   const Resources& resources) {
  const std::vector<std::string> names = given(results);
  for (const std::string& name : names) {
    for (const std::string& input : given(inputs)) check_not_input(name, input);
  }
  check_distinct(names);
  std::set<fs::path> folders;
  for (const std::string& name : names) {
    files::check_writable(name);
    folders.insert(files::place_of(name).parent_path());
  }
  for (const fs::path& folder : folders) files::remove_left_files(folder);
  if (resources.existing == ExistingFiles::keep) check_new(names);
}

void commit(files::Results& results, const Resources& resources) {
  if (resources.existing == ExistingFiles::keep) check_new(results.targets());
  results.commit();
}

}  // namespace lull::run
