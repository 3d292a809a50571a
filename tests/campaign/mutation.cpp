#include "campaign/mutation.h"

#include <algorithm>
#include <cctype>
#include <cstdint>
#include <iterator>
#include <vector>

namespace lull::test {

namespace {

constexpr std::size_t kHeaderBytes = 512;

/// A number below `end`. The distributions of the standard library differ between libraries; this
/// gives the same mutants everywhere.
std::size_t below(std::size_t end, std::mt19937& random) {
  return end == 0 ? 0 : static_cast<std::size_t>(random()) % end;
}

/// A place in the file, in every second case one of its first bytes.
std::size_t place(const Bytes& file, std::mt19937& random) {
  const bool front = (random() & 1U) != 0;
  return below(front ? std::min(file.size(), kHeaderBytes) : file.size(), random);
}

std::string turn_bits(Bytes& file, std::mt19937& random) {
  std::string what = "bits turned at";
  for (std::size_t left = 1 + below(8, random); left > 0; --left) {
    const std::size_t at = place(file, random);
    file[at] ^= static_cast<std::byte>(1U << below(8, random));
    what += " " + std::to_string(at);
  }
  return what;
}

const std::vector<std::string>& strange_words() {
  static const std::vector<std::string> words = {
      "0",      "-1",         "1e308",      "-1e308",
      "1e-308", "NaN",        "2147483648", "99999999999999999999",
      "null",   "\"\"",       "[]",         "{}",
      "true",   "1,",         "-0.0",       "0.1",
      "7",      "4294967296", "65536",      "1e999",
      "''",     "T"};
  return words;
}

bool is_of_word(std::byte byte) {
  const auto c = static_cast<unsigned char>(byte);
  return std::isalnum(c) != 0 || c == '.' || c == '-' || c == '+';
}

}  // namespace

Mutant mutate_text(const Bytes& file, std::mt19937& random) {
  constexpr std::size_t kText = 12'000;  // behind it, FITS has pixels
  Mutant mutant{file, {}};
  Bytes& bytes = mutant.bytes;
  std::size_t begin = below(std::min(bytes.size(), kText), random);
  while (begin < bytes.size() && !is_of_word(bytes[begin])) ++begin;
  std::size_t end = begin;
  while (end < bytes.size() && is_of_word(bytes[end])) ++end;
  const std::string& word = strange_words()[below(strange_words().size(), random)];
  mutant.what = word + " at " + std::to_string(begin);
  const auto first = bytes.begin() + static_cast<std::ptrdiff_t>(begin);
  const auto as_byte = [](char c) { return static_cast<std::byte>(c); };
  const bool cards =
      bytes.size() > 6 && std::equal(bytes.begin(), bytes.begin() + 6, "SIMPLE",
                                     [&](std::byte b, char c) { return b == as_byte(c); });
  if (cards) {
    // The value ends where it ended, over the spaces before it.
    const std::size_t length = std::min(word.size(), end);
    std::fill(first, bytes.begin() + static_cast<std::ptrdiff_t>(end), as_byte(' '));
    std::transform(word.begin(), word.begin() + static_cast<std::ptrdiff_t>(length),
                   bytes.begin() + static_cast<std::ptrdiff_t>(end - length), as_byte);
  } else {
    bytes.erase(first, bytes.begin() + static_cast<std::ptrdiff_t>(end));
    Bytes put;
    std::transform(word.begin(), word.end(), std::back_inserter(put), as_byte);
    bytes.insert(bytes.begin() + static_cast<std::ptrdiff_t>(begin), put.begin(), put.end());
  }
  return mutant;
}

Mutant mutate(const Bytes& file, std::mt19937& random) {
  Mutant mutant{file, {}};
  Bytes& bytes = mutant.bytes;
  const std::size_t at = place(file, random);
  const std::size_t length = 1 + below(std::min<std::size_t>(file.size() - at, 3000), random);
  const auto first = bytes.begin() + static_cast<std::ptrdiff_t>(at);
  const auto last = first + static_cast<std::ptrdiff_t>(length);
  const std::string where = " at " + std::to_string(at) + ", " + std::to_string(length) + " bytes";
  switch (below(10, random)) {
    case 0:
    case 1:
      bytes.resize(below(file.size() + 1, random));
      mutant.what = "cut to " + std::to_string(bytes.size());
      break;
    case 2:
      std::fill(first, last, std::byte{0});
      mutant.what = "zeros" + where;
      break;
    case 3:
      std::generate(first, last, [&] { return static_cast<std::byte>(random() & 255U); });
      mutant.what = "noise" + where;
      break;
    case 4:
      bytes.erase(first, last);
      mutant.what = "missing" + where;
      break;
    case 5: {
      const Bytes part(first, last);
      bytes.insert(bytes.begin() + static_cast<std::ptrdiff_t>(at), part.begin(), part.end());
      mutant.what = "twice" + where;
      break;
    }
    case 6:
      std::fill(first, bytes.end(), std::byte{0});
      mutant.what = "zeros from " + std::to_string(at) + " on";
      break;
    default:
      mutant.what = turn_bits(bytes, random);
      break;
  }
  return mutant;
}

}  // namespace lull::test
