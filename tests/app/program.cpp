#include "app/program.h"

#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <stdexcept>
#include <thread>

#ifndef LULL_PROGRAM
#include <cstdio>
#include <iostream>

#include "cli/cli.h"
#endif

namespace lull::test {

namespace {

std::string read_back(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

#ifdef LULL_PROGRAM
[[noreturn]] void begin(std::vector<char*>& words) {
  execv(LULL_PROGRAM, words.data());
  _exit(127);
}
#else
// To load the program's 150 libraries takes longer than most runs of it: a test of thousands of
// runs links it, and each of its children goes on from there.
[[noreturn]] void begin(std::vector<char*>& words) {
  const int status = cli::run(static_cast<int>(words.size()) - 1, words.data());
  std::cout.flush();
  std::fflush(nullptr);
  _exit(status);
}
#endif

[[noreturn]] void become_lull(const std::vector<std::string>& arguments, const RunOptions& options,
                              const std::string& output, const std::string& errors) {
  if (!options.folder.empty() && chdir(options.folder.c_str()) != 0) _exit(126);
  const int out = open(output.c_str(), O_CREAT | O_WRONLY | O_TRUNC, 0600);
  const int err = open(errors.c_str(), O_CREAT | O_WRONLY | O_TRUNC, 0600);
  dup2(out, STDOUT_FILENO);
  dup2(err, STDERR_FILENO);
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
  std::vector<std::string> words = {"lull"};
  words.insert(words.end(), arguments.begin(), arguments.end());
  std::vector<char*> pointers;
  for (std::string& word : words) pointers.push_back(word.data());
  pointers.push_back(nullptr);
  begin(pointers);
}

}  // namespace

Run run_lull(const std::vector<std::string>& arguments, const RunOptions& options) {
  static std::atomic<int> serial = 0;
  const auto stem = (std::filesystem::temp_directory_path() /
                     ("lull_run_" + std::to_string(getpid()) + "_" + std::to_string(serial++)))
                        .string();
  const pid_t child = fork();
  if (child < 0) throw std::runtime_error("fork failed");
  if (child == 0) become_lull(arguments, options, stem + ".out", stem + ".err");
  if (options.interrupt_after_ms > 0) {
    std::this_thread::sleep_for(std::chrono::milliseconds(options.interrupt_after_ms));
    kill(child, SIGINT);
  }
  int state = 0;
  rusage used{};
  wait4(child, &state, 0, &used);
  Run run;
  run.peak_kib = used.ru_maxrss;
  run.status = WIFEXITED(state) ? WEXITSTATUS(state) : 128 + WTERMSIG(state);
  run.output = read_back(stem + ".out");
  run.errors = read_back(stem + ".err");
  std::filesystem::remove(stem + ".out");
  std::filesystem::remove(stem + ".err");
  return run;
}

}  // namespace lull::test
