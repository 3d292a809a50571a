#include "campaign/mutation.h"

#include <algorithm>
#include <cstdint>

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

}  // namespace

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
