#pragma once

#include <random>
#include <string>

#include "support/bytes.h"

namespace lull::test {

/// A file as a bad cable, a full disk or a failing card leaves it.
struct Mutant {
  Bytes bytes;
  std::string what;  ///< what was done, to find it again
};

/// One of: cut off anywhere, some bits turned (more often near the front, where headers are), a
/// run of zeros or of noise, a part missing, a part twice, zeros at the end.
[[nodiscard]] Mutant mutate(const Bytes& file, std::mt19937& random);

/// A file of text, or one that begins with it, with one of its numbers or words replaced by what
/// nobody expects: huge, tiny, negative, not a number, nothing. FITS cards keep their length.
[[nodiscard]] Mutant mutate_text(const Bytes& file, std::mt19937& random);

}  // namespace lull::test
