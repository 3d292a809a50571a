#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "files/metadata.h"
#include "files/picture.h"

namespace lull::files::test {

/// A folder of its own for one test, removed at the end.
class TemporaryFolder {
 public:
  TemporaryFolder();
  ~TemporaryFolder();
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;

  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

  [[nodiscard]] std::filesystem::path operator/(const std::string& name) const {
    return path_ / name;
  }

  /// Names in the folder, hidden ones too, sorted.
  [[nodiscard]] std::vector<std::string> names() const;

 private:
  std::filesystem::path path_;
};

struct Ran {
  int status = -1;
  std::string output;  ///< standard output and standard error
};

/// Runs a program found on the PATH (no shell).
[[nodiscard]] Ran run(const std::vector<std::string>& arguments);

/// Runs pictures.py, which reads and writes pictures with OpenCV, tifffile and astropy.
/// These come with tools/setup.sh --tests; without them the test fails and says so.
[[nodiscard]] Ran run_pictures(std::vector<std::string> arguments);

/// Seeded values, mostly in [0, 1], some below and above.
[[nodiscard]] Picture seeded_picture(Size size, int channels, unsigned seed);

/// All samples of a picture, rows from the top, channels interleaved.
[[nodiscard]] std::vector<float> samples_of(const Picture& picture);

/// The 16-bit values that an encoding must give, computed one by one.
[[nodiscard]] std::vector<std::uint16_t> encoded_samples_of(const Picture& picture,
                                                            const Encoding& encoding);

[[nodiscard]] Metadata sample_metadata();

[[nodiscard]] std::string text_of(const std::filesystem::path& path);

template <class T>
[[nodiscard]] std::vector<T> values_of(const std::filesystem::path& path) {
  const std::string bytes = text_of(path);
  std::vector<T> values(bytes.size() / sizeof(T));
  bytes.copy(reinterpret_cast<char*>(values.data()), values.size() * sizeof(T));
  return values;
}

/// What the program would say; empty when nothing is thrown.
template <class Error, class Function>
[[nodiscard]] std::string message_of(Function function) {
  try {
    function();
  } catch (const Error& error) {
    return error.what();
  }
  return {};
}

}  // namespace lull::files::test
