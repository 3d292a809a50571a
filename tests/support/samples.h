#pragma once

#include <string>

#include "support/bytes.h"

namespace lull::test {

/// Path of a file in the folder samples/.
[[nodiscard]] inline std::string sample(const std::string& name) {
  return std::string(LULL_SAMPLES) + "/" + name;
}

/// A SER capture that ends after the 14 bytes of its identifier.
inline void write_cut_ser(const std::string& path) {
  write_beginning(path, sample("ringed_faint.ser"), 14);
}

}  // namespace lull::test
