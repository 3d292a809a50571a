#pragma once

#include <string>
#include <vector>

namespace lull::bench {

/// What a program took.
struct Finished {
  double seconds = 0;
  double processor_s = 0;
  double peak_mib = 0;
};

/// Runs a program to its end, silently. Results that it named -o in an earlier run are removed
/// before. @throws std::runtime_error when it fails.
[[nodiscard]] Finished run(const std::vector<std::string>& words);

}  // namespace lull::bench
