#pragma once

#include <filesystem>
#include <string>

namespace lull::night {

/// Where the files of a night lie in its folder for results.
class NightFolder {
 public:
  explicit NightFolder(std::filesystem::path results) : results_(std::move(results)) {}

  [[nodiscard]] const std::filesystem::path& results() const { return results_; }

  /// @param ending  of its format.
  [[nodiscard]] std::string picture(const std::string& name,
                                    const std::string& ending = ".tif") const {
    return with(name, ending);
  }

  [[nodiscard]] std::string master(const std::string& name) const {
    return (own() / "masters" / (name + ".fits")).string();
  }

  [[nodiscard]] std::filesystem::path state() const { return own() / "state"; }

  [[nodiscard]] std::string record(const std::string& name) const {
    return (state() / (name + ".json")).string();
  }

  /// What keeps two processes from one picture.
  [[nodiscard]] std::string lock(const std::string& name) const { return record(name) + ".lock"; }

  /// What the night is going to do.
  [[nodiscard]] std::string plan() const { return (own() / "plan.json").string(); }

  [[nodiscard]] std::string log(const std::string& name) const {
    return (own() / "logs" / (name + ".log")).string();
  }

  [[nodiscard]] std::string page() const { return with("night", ".html"); }

  [[nodiscard]] std::string table() const { return with("night", ".csv"); }

  [[nodiscard]] std::string figures() const { return with("night", ".json"); }

  /// What keeps two nights apart.
  [[nodiscard]] std::filesystem::path lock() const { return own() / "lock"; }

  /// Removes temporary files of runs that were killed.
  void remove_left_files() const;

  /// Makes the folder of a file. @throws OutputError.
  static void make_folder_of(const std::string& file);

 private:
  [[nodiscard]] std::filesystem::path own() const { return results_ / "night"; }

  [[nodiscard]] std::string with(const std::string& name, const std::string& ending) const {
    return (results_ / (name + ending)).string();
  }

  std::filesystem::path results_;
};

}  // namespace lull::night
