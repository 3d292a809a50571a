#pragma once

#include <functional>
#include <string>
#include <vector>

namespace lull::test {

/// Under sanitizers the measured memory is not the program's own.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
inline constexpr bool kOwnMemory = false;
#else
inline constexpr bool kOwnMemory = true;
#endif

/// Status of a run whose program is not there, as shells have it.
inline constexpr int kCannotRun = 127;

/// What a run of a program left.
struct Run {
  int status = -1;     ///< exit status; 128 + signal when a signal ended it
  std::string output;  ///< standard output
  std::string errors;  ///< standard error
  long peak_kib = 0;   ///< most memory it held, as seen every 2 ms

  /// Standard output, then standard error.
  [[nodiscard]] std::string text() const { return output + errors; }
};

struct RunOptions {
  std::string folder{};                    ///< working folder; empty: the test's own
  std::vector<std::string> environment{};  ///< "NAME=value", on top of the test's own
  long file_size_limit = 0;                ///< bytes that any file may reach, 0 = no limit
  int interrupt_after_ms = 0;  ///< sends SIGINT so long after it is caught from, 0 = never
  long memory_limit = 0;       ///< bytes of address space, 0 = no limit
  unsigned time_limit_s = 0;   ///< SIGALRM ends it after so long, 0 = never
};

/// Runs a program, found on the PATH unless its name has a slash, in a child process and waits for
/// its end; no shell. Safe to call in parallel. A program or a Python module that is missing makes
/// the run fail, and its errors name the package to install.
[[nodiscard]] Run run_program(const std::vector<std::string>& words,
                              const RunOptions& options = {});

/// The same for a main function linked into the test. To load the program's 150 libraries takes
/// longer than most runs of it: a test of thousands of runs links it, and each child goes on from
/// there.
[[nodiscard]] Run run_main(const std::function<int(int, char**)>& main,
                           const std::vector<std::string>& words, const RunOptions& options = {});

/// Runs a Python script, its path from tests/ on or absolute, with Debian's interpreter, to which
/// the packages of tools/setup.sh belong.
[[nodiscard]] Run run_python(const std::string& script, const std::vector<std::string>& arguments);

/// The same where only the script's files or standard output count, which is returned: the test
/// fails unless the script ends well.
std::string reference_of(const std::string& script, const std::vector<std::string>& arguments);

/// The built programs.
[[nodiscard]] Run run_lull(const std::vector<std::string>& arguments,
                           const RunOptions& options = {});
[[nodiscard]] Run run_sim(const std::vector<std::string>& arguments,
                          const RunOptions& options = {});
[[nodiscard]] Run run_judge(const std::vector<std::string>& arguments);
[[nodiscard]] Run run_bounds(const std::vector<std::string>& arguments);

/// Checks that `lull` ends with that status, says so, and writes nothing to standard output.
void check_refused(const std::vector<std::string>& arguments, int status, const std::string& says);

}  // namespace lull::test
