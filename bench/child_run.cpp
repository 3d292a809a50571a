#include "child_run.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <iterator>
#include <stdexcept>

namespace lull::bench {

namespace {

// Of an earlier run, which this one would not overwrite; not every program that is compared knows
// --overwrite.
void remove_results(const std::vector<std::string>& words) {
  const auto option = std::find(words.begin(), words.end(), "-o");
  if (option == words.end()) return;
  const std::filesystem::path output = *std::next(option);
  const std::string begin = output.stem().string() + ".";
  std::vector<std::filesystem::path> results;
  for (const auto& entry : std::filesystem::directory_iterator(output.parent_path())) {
    if (entry.path().filename().string().starts_with(begin)) results.push_back(entry.path());
  }
  for (const auto& result : results) std::filesystem::remove(result);
}

double seconds_of(const timeval& time) {
  return static_cast<double>(time.tv_sec) + 1e-6 * static_cast<double>(time.tv_usec);
}

}  // namespace

Finished run(const std::vector<std::string>& words) {
  remove_results(words);
  const auto start = std::chrono::steady_clock::now();
  const pid_t child = fork();
  if (child < 0) throw std::runtime_error("fork failed");
  if (child == 0) {
    const int nothing = open("/dev/null", O_RDWR);
    for (const int stream : {0, 1, 2}) dup2(nothing, stream);
    std::vector<std::string> copy = words;
    std::vector<char*> pointers;
    pointers.reserve(copy.size() + 1);
    for (std::string& word : copy) pointers.push_back(word.data());
    pointers.push_back(nullptr);
    execvp(pointers[0], pointers.data());
    _exit(127);
  }
  int state = 0;
  rusage usage{};
  wait4(child, &state, 0, &usage);
  if (!WIFEXITED(state) || WEXITSTATUS(state) != 0) {
    throw std::runtime_error(fmt::format("{} failed", words[0]));
  }
  return {std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count(),
          seconds_of(usage.ru_utime) + seconds_of(usage.ru_stime),
          static_cast<double>(usage.ru_maxrss) / 1024};
}

}  // namespace lull::bench
