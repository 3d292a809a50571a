#include "support/run_program.h"

#include <doctest/doctest.h>
#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <map>
#include <optional>
#include <stdexcept>
#include <thread>

#include "support/bytes.h"
#include "support/temporary_folder.h"

namespace lull::test {

namespace {

using Work = std::function<int(std::vector<char*>&)>;

[[noreturn]] void begin(std::vector<std::string> words, const RunOptions& options,
                        const std::string& output, const std::string& errors, const Work& work) {
  const int out = open(output.c_str(), O_CREAT | O_WRONLY | O_TRUNC, 0600);
  const int err = open(errors.c_str(), O_CREAT | O_WRONLY | O_TRUNC, 0600);
  dup2(out, STDOUT_FILENO);
  dup2(err, STDERR_FILENO);
  if (!options.folder.empty() && chdir(options.folder.c_str()) != 0) _exit(126);
  for (const std::string& pair : options.environment) {
    const auto equals = pair.find('=');
    setenv(pair.substr(0, equals).c_str(), pair.substr(equals + 1).c_str(), 1);
  }
  if (options.file_size_limit > 0) {
    std::signal(SIGXFSZ, SIG_IGN);
    const auto bytes = static_cast<rlim_t>(options.file_size_limit);
    const rlimit limit{bytes, bytes};
    setrlimit(RLIMIT_FSIZE, &limit);
  }
  if (options.memory_limit > 0) {
    const auto bytes = static_cast<rlim_t>(options.memory_limit);
    const rlimit limit{bytes, bytes};
    setrlimit(RLIMIT_AS, &limit);
  }
  alarm(options.time_limit_s);
  std::vector<char*> pointers;
  pointers.reserve(words.size() + 1);
  for (std::string& word : words) pointers.push_back(word.data());
  pointers.push_back(nullptr);
  _exit(work(pointers));
}

// Most memory that the program has held so far. The kernel's own figure for an ended child starts
// from what the test held when it forked, this one from the program's start.
std::optional<long> peak_kib_of(pid_t child) {
  std::ifstream status("/proc/" + std::to_string(child) + "/status");
  for (std::string line; std::getline(status, line);) {
    if (line.starts_with("VmHWM:")) return std::stol(line.substr(6));
  }
  return std::nullopt;  // it has ended
}

// Waits for the end of the program. @return its state.
int wait_for(pid_t child, long& peak_kib) {
  constexpr auto kBetween = std::chrono::milliseconds(2);
  for (int state = 0;; std::this_thread::sleep_for(kBetween)) {
    if (waitpid(child, &state, WNOHANG) != 0) return state;
    if (const auto peak = peak_kib_of(child)) peak_kib = *peak;
  }
}

// Whether SIGINT is caught or waited for, or the program has ended. While its libraries are loaded
// there is none; before that it still is the test, whose handlers it has.
bool is_ready_for_interrupt(pid_t child, bool is_replaced) {
  const std::string process = "/proc/" + std::to_string(child);
  std::error_code error;
  const auto now = std::filesystem::read_symlink(process + "/exe", error);
  if (error) return true;
  if (is_replaced && now == std::filesystem::read_symlink("/proc/self/exe", error)) return false;
  std::ifstream status(process + "/status");
  for (std::string line; std::getline(status, line);) {
    if (!line.starts_with("SigBlk:") && !line.starts_with("SigCgt:")) continue;
    if (((std::stoull(line.substr(7), nullptr, 16) >> (SIGINT - 1)) & 1) != 0) return true;
  }
  return false;
}

void interrupt(pid_t child, bool is_replaced, int after_ms) {
  while (!is_ready_for_interrupt(child, is_replaced))
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  std::this_thread::sleep_for(std::chrono::milliseconds(after_ms));
  kill(child, SIGINT);
}

// @param is_replaced  the work is another program.
Run run(const std::vector<std::string>& words, const RunOptions& options, bool is_replaced,
        const Work& work) {
  const TemporaryFolder folder;
  const std::string output = folder.file("output");
  const std::string errors = folder.file("errors");
  const pid_t child = fork();
  if (child < 0) throw std::runtime_error("fork failed");
  if (child == 0) begin(words, options, output, errors, work);
  if (options.interrupt_after_ms > 0) interrupt(child, is_replaced, options.interrupt_after_ms);
  Run run;
  const int state = wait_for(child, run.peak_kib);
  run.status = WIFEXITED(state) ? WEXITSTATUS(state) : 128 + WTERMSIG(state);
  run.output = text_of(output);
  run.errors = text_of(errors);
  return run;
}

/// Debian's package of a program that the tests compare with.
std::string package_of(const std::string& program) {
  static const std::map<std::string, std::string> others = {
      {"tiffinfo", "libtiff-tools"}, {"xmllint", "libxml2-utils"}, {"/usr/bin/python3", "python3"}};
  const auto found = others.find(program);
  return found == others.end() ? program : found->second;
}

/// Package to install when Python lacks a module; empty otherwise.
std::string missing_package(const std::string& errors) {
  static const std::string words = "No module named '";
  const auto at = errors.find(words);
  if (at == std::string::npos) return {};
  const auto begin = at + words.size();
  const std::string module = errors.substr(begin, errors.find_first_of("'.", begin) - begin);
  return "python3-" + (module == "cv2" ? "opencv" : module);
}

std::string advice(const std::string& package) {
  return "\nThe package " + package + " is missing: run tools/setup.sh --tests\n";
}

}  // namespace

Run run_program(const std::vector<std::string>& words, const RunOptions& options) {
  Run done = run(words, options, true, [](std::vector<char*>& pointers) {
    execvp(pointers[0], pointers.data());
    return kCannotRun;
  });
  if (done.status == kCannotRun) done.errors += advice(package_of(words[0]));
  return done;
}

Run run_main(const std::function<int(int, char**)>& main, const std::vector<std::string>& words,
             const RunOptions& options) {
  return run(words, options, false, [&main](std::vector<char*>& pointers) {
    const int status = main(static_cast<int>(pointers.size()) - 1, pointers.data());
    std::cout.flush();
    std::fflush(nullptr);
    return status;
  });
}

Run run_python(const std::string& script, const std::vector<std::string>& arguments) {
  std::vector<std::string> words = {"/usr/bin/python3",
                                    (std::filesystem::path(LULL_TESTS) / script).string()};
  words.insert(words.end(), arguments.begin(), arguments.end());
  Run done = run_program(words);
  const std::string package = missing_package(done.errors);
  if (!package.empty()) done.errors += advice(package);
  return done;
}

std::string reference_of(const std::string& script, const std::vector<std::string>& arguments) {
  const Run done = run_python(script, arguments);
  CAPTURE(script);
  CAPTURE(done.errors);
  REQUIRE(done.status == 0);
  return done.output;
}

namespace {

Run run_built(const std::string& program, const std::vector<std::string>& arguments,
              const RunOptions& options = {}) {
  std::vector<std::string> words = {LULL_PROGRAMS "/" + program};
  words.insert(words.end(), arguments.begin(), arguments.end());
  return run_program(words, options);
}

}  // namespace

Run run_lull(const std::vector<std::string>& arguments, const RunOptions& options) {
  return run_built("lull", arguments, options);
}

Run run_sim(const std::vector<std::string>& arguments, const RunOptions& options) {
  return run_built("lull-sim", arguments, options);
}

Run run_judge(const std::vector<std::string>& arguments) {
  return run_built("lull-judge", arguments);
}

Run run_bounds(const std::vector<std::string>& arguments) {
  return run_built("lull-bounds", arguments);
}

void check_refused(const std::vector<std::string>& arguments, int status, const std::string& says) {
  CAPTURE(says);
  const Run run = run_lull(arguments);
  CAPTURE(run.errors);
  CHECK(run.status == status);
  CHECK(run.errors.find(says) != std::string::npos);
  CHECK(run.output.empty());
}

}  // namespace lull::test
