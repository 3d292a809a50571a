#include "support/bytes.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstring>
#include <fstream>
#include <iterator>
#include <span>

namespace lull::test {

namespace fs = std::filesystem;

Bytes read_file(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  CAPTURE(path.string());
  REQUIRE(in.good());
  Bytes bytes(static_cast<std::size_t>(fs::file_size(path)));
  in.read(reinterpret_cast<char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
  return bytes;
}

void write_file(const fs::path& path, const Bytes& bytes) {
  std::ofstream out(path, std::ios::binary);
  out.write(reinterpret_cast<const char*>(bytes.data()),
            static_cast<std::streamsize>(bytes.size()));
  REQUIRE(out.good());
}

void write_beginning(const std::filesystem::path& to, const std::filesystem::path& from,
                     std::size_t bytes) {
  Bytes all = read_file(from);
  all.resize(std::min(bytes, all.size()));
  write_file(to, all);
}

std::string text_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

void write_values(const fs::path& path, const std::vector<double>& values) {
  const auto bytes = std::as_bytes(std::span(values));
  write_file(path, {bytes.begin(), bytes.end()});
}

void put_integer(Bytes& bytes, std::size_t at, std::int32_t value) {
  REQUIRE(at + 4 <= bytes.size());
  std::memcpy(bytes.data() + at, &value, 4);
}

std::size_t find_text(const Bytes& bytes, const std::string& text, std::size_t from) {
  const auto wanted = std::as_bytes(std::span(text));
  const auto found = std::search(bytes.begin() + static_cast<std::ptrdiff_t>(from), bytes.end(),
                                 wanted.begin(), wanted.end());
  if (found == bytes.end()) return SIZE_MAX;
  return static_cast<std::size_t>(found - bytes.begin());
}

}  // namespace lull::test
