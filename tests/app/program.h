#pragma once

#include <string>
#include <vector>

namespace lull::test {

/// Under sanitizers memory says nothing of the program's own.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
inline constexpr bool kOwnMemory = false;
#else
inline constexpr bool kOwnMemory = true;
#endif

/// What a run of the program left.
struct Run {
  int status = -1;     ///< exit status; 128 + signal when a signal ended it
  std::string output;  ///< standard output
  std::string errors;  ///< standard error
  long peak_kib = 0;   ///< most memory it held
};

struct RunOptions {
  std::string folder{};                    ///< working folder; empty: the test's own
  std::vector<std::string> environment{};  ///< "NAME=value", on top of the test's own
  long file_size_limit = 0;                ///< bytes that any file may reach, 0 = no limit
  int interrupt_after_ms = 0;              ///< sends SIGINT after so long, 0 = never
  long memory_limit = 0;                   ///< bytes of address space, 0 = no limit
  unsigned time_limit_s = 0;               ///< SIGALRM ends it after so long, 0 = never
};

/// Runs `lull` with these arguments in a process of its own and waits for its end: the built
/// program that LULL_PROGRAM names, or, where a test links lull::app instead, that. Safe to call in
/// parallel.
[[nodiscard]] Run run_lull(const std::vector<std::string>& arguments,
                           const RunOptions& options = {});

}  // namespace lull::test
