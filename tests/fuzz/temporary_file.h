#pragma once

#include <cstddef>
#include <cstdint>
#include <string>

namespace lull::fuzz {

/// The bytes of one try as a file that lives in memory only: readers take paths. Removed at the
/// end.
class TemporaryFile {
 public:
  /// Ends the program if the system gives no such file.
  TemporaryFile(const std::uint8_t* data, std::size_t size);
  ~TemporaryFile();
  TemporaryFile(const TemporaryFile&) = delete;
  TemporaryFile& operator=(const TemporaryFile&) = delete;

  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  int descriptor_ = -1;
  std::string path_;
};

}  // namespace lull::fuzz
