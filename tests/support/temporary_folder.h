#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace lull::test {

/// A temporary folder for one test, removed at the end.
class TemporaryFolder {
 public:
  TemporaryFolder();
  ~TemporaryFolder();
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;

  [[nodiscard]] std::string path() const { return path_.string(); }

  [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }

  [[nodiscard]] std::filesystem::path operator/(const std::string& name) const {
    return path_ / name;
  }

  /// Names in the folder, hidden ones too, sorted.
  [[nodiscard]] std::vector<std::string> names() const;

 private:
  std::filesystem::path path_;
};

}  // namespace lull::test
