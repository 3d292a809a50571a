// lull-bench [--smoke] [--targets | --memory | --against LULL]: speed as ratios to a reference in
// the same run, or to another build by turns, and peak memory.
#include <fmt/format.h>
#include <stdlib.h>  // NOLINT(modernize-deprecated-headers): mkdtemp

#include <algorithm>
#include <exception>
#include <filesystem>
#include <string>

#include "bench.h"
#include "core/parallel.h"
#include "core/statistics.h"

namespace lull::bench {

Timing timing(std::vector<double> seconds) {
  std::sort(seconds.begin(), seconds.end());
  const double middle = quantile_of_sorted(seconds, 0.5);
  return {middle, (seconds.back() - seconds.front()) / middle};
}

}  // namespace lull::bench

int main(int argc, char** argv) {
  lull::bench::Settings settings;
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    if (word == "-V" || word == "--version") {
      fmt::print("Lull {}\n", LULL_VERSION);
      return 0;
    }
    if (word == "--smoke") {
      settings.smoke = true;
    } else if (word == "--memory") {
      settings.memory = true;
    } else if (word == "--targets") {
      settings.targets = true;
    } else if (word == "--against" && i + 1 < argc) {
      settings.against = argv[++i];
    } else {
      fmt::print(
          stderr,
          "lull-bench: unknown option {}; valid: --smoke, --targets, --memory, --against LULL\n",
          word);
      return 2;
    }
  }
  std::string folder = (std::filesystem::temp_directory_path() / "lull_bench_XXXXXX").string();
  if (mkdtemp(folder.data()) == nullptr) return 1;
  settings.folder = folder;
  int status = 0;
  try {
    fmt::print("Lull {}, {} threads\n", LULL_VERSION, lull::thread_count());
    if (!settings.against.empty()) {
      lull::bench::run_against(settings);
    } else if (settings.targets) {
      lull::bench::run_targets(settings);
    } else if (settings.memory) {
      lull::bench::run_memory(settings);
    } else {
      lull::bench::run_kernels(settings);
      lull::bench::run_programs(settings);
    }
  } catch (const std::exception& error) {
    fmt::print(stderr, "lull-bench: {}\n", error.what());
    status = 1;
  }
  std::filesystem::remove_all(folder);
  return status;
}
