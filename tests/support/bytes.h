#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

namespace lull::test {

using Bytes = std::vector<std::byte>;

/// The whole file; the test fails if it cannot be read.
[[nodiscard]] Bytes read_file(const std::filesystem::path& path);
void write_file(const std::filesystem::path& path, const Bytes& bytes);

/// The first bytes of a file, as many as it has at most, as another file.
void write_beginning(const std::filesystem::path& to, const std::filesystem::path& from,
                     std::size_t bytes);

/// The whole file as text; empty if it cannot be read.
[[nodiscard]] std::string text_of(const std::filesystem::path& path);

/// The whole file as values in the byte order of this machine.
template <class T>
[[nodiscard]] std::vector<T> values_of(const std::filesystem::path& path) {
  const std::string bytes = text_of(path);
  std::vector<T> values(bytes.size() / sizeof(T));
  bytes.copy(reinterpret_cast<char*>(values.data()), values.size() * sizeof(T));
  return values;
}

/// Writes values in the byte order of this machine, as NumPy's fromfile reads them.
void write_values(const std::filesystem::path& path, const std::vector<double>& values);

/// Little-endian 32-bit integer of a file image.
void put_integer(Bytes& bytes, std::size_t at, std::int32_t value);

/// First place of `text` in `bytes` from `from` on; SIZE_MAX if there is none.
[[nodiscard]] std::size_t find_text(const Bytes& bytes, const std::string& text,
                                    std::size_t from = 0);

}  // namespace lull::test
