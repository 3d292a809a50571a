#pragma once

#include <string>

namespace lull::test {

/// Path of a file in the folder samples/.
[[nodiscard]] inline std::string sample(const std::string& name) {
  return std::string(LULL_SAMPLES) + "/" + name;
}

}  // namespace lull::test
