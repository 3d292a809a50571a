#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <mutex>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

namespace lull::desk {

/// One file of a result.
struct ResultFile {
  std::string name;
  std::uintmax_t bytes = 0;
  std::string kind;  ///< picture, linear, recipe, report, shared or other
};

/// The files of one run, which a recipe holds together.
struct Result {
  std::string id;
  std::string stem;
  std::string verb;         ///< stack, finish, merge or mosaic
  std::string picture;      ///< name of its main picture; empty where that is gone
  std::string recipe_file;  ///< its name
  std::int64_t modified_s = 0;
  std::vector<ResultFile> files;
  std::vector<std::string> inputs;  ///< captures of a stack, or stacks: as the recipe names them

  /// Its linear stack, which can be tuned; empty where it has none.
  [[nodiscard]] std::string linear() const;
};

/// Ids of the captures that results are made from, as their recipes name them; of what is made of
/// stacks those of its stacks. @param folder  of the captures.
[[nodiscard]] std::vector<std::string> captures_of(const Result& result,
                                                   const std::vector<Result>& all,
                                                   const std::filesystem::path& folder);

/// {"id": ..., "name": ...}
[[nodiscard]] nlohmann::json result_name_json(const Result& result);

/// The results in a folder: every recipe there, and the files that have its name. Any thread.
class ResultIndex {
 public:
  static constexpr std::size_t kMost = 10'000;

  explicit ResultIndex(std::filesystem::path folder) : folder_(std::move(folder)) {}

  [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }

  /// The newest first. Empty where there is no such folder.
  [[nodiscard]] std::vector<Result> results();

  /// @throws Problem 404
  [[nodiscard]] Result result(const std::string& id);

  /// The recipe of a result. @throws InputError
  [[nodiscard]] nlohmann::json recipe(const Result& result) const;

  /// Where a file of a result is. @throws Problem 404: it is none of its files.
  [[nodiscard]] std::filesystem::path path_of(const Result& result, const std::string& name) const;

 private:
  /// What a recipe says of its run.
  struct Source {
    std::string verb = "stack";
    std::vector<std::string> inputs{};
  };

  struct Known {
    std::int64_t modified_s = 0;
    std::uintmax_t bytes = 0;
    Source source;
  };

  [[nodiscard]] Source source_of(const std::filesystem::path& recipe, std::int64_t modified_s,
                                 std::uintmax_t bytes);

  std::filesystem::path folder_;
  std::mutex guard_;
  static Source read_source(const nlohmann::json& recipe);

  std::map<std::string, Known> known_;  ///< by the name of the recipe
};

/// A name of a file of its own in the folder of results: no folder, not hidden, no control
/// characters. @throws Problem 400
void check_result_name(const std::string& name);

}  // namespace lull::desk
