#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <map>
#include <mutex>
#include <random>
#include <string>
#include <thread>
#include <vector>

#include "campaign/mutation.h"
#include "campaign/small_captures.h"
#include "cli/cli.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

namespace {

using namespace lull::test;

Run run_linked(std::vector<std::string> words, const RunOptions& options = {}) {
  words.insert(words.begin(), "lull");
  return run_main(lull::cli::run, words, options);
}

// Sanitizers take address space without end, and ten times as long.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr int kMutantsOfEach = 20;
constexpr long kMemoryLimit = 0;
#else
constexpr int kMutantsOfEach = 210;
constexpr long kMemoryLimit = 1'500'000'000;
#endif
constexpr unsigned kTimeLimitS = 30;  // a run takes some hundredths; a machine may be busy
constexpr std::size_t kWorkers = 2;

/// Empty if the run ended as runs may end.
std::string fault_of(const Run& run) {
  // Done, input cannot be read, nothing usable in it.
  const bool documented = run.status == 0 || run.status == 3 || run.status == 4;
  if (!documented) return "status " + std::to_string(run.status) + ": " + run.errors;
  if (run.status != 0 && run.errors.find("lull: ") == std::string::npos)
    return "no message with status " + std::to_string(run.status);
  return {};
}

struct Tally {
  std::mutex mutex;
  std::map<int, int> statuses;
  long peak_kib = 0;
  std::vector<std::string> faults;

  void add(const Run& run, const std::string& what) {
    const std::lock_guard lock(mutex);
    ++statuses[run.status];
    peak_kib = std::max(peak_kib, run.peak_kib);
    const std::string fault = fault_of(run);
    if (!fault.empty()) faults.push_back(what + ": " + fault);
  }
};

void run_mutants(const SmallCapture& capture, std::size_t number, const std::string& folder,
                 Tally& tally) {
  std::mt19937 random(static_cast<unsigned>(20240817 + number));
  const std::string path = folder + "/" + capture.name;
  for (int i = 0; i < kMutantsOfEach; ++i) {
    const Mutant mutant = mutate(capture.bytes, random);
    write_file(path, mutant.bytes);
    const char* command = i % 2 == 0 ? "inspect" : "rank";
    const Run run = run_linked({command, path, "--quiet", "--threads", "1", "--memory", "200M"},
                               {.memory_limit = kMemoryLimit, .time_limit_s = kTimeLimitS});
    tally.add(run, capture.name + " " + std::to_string(i) + " " + command + ", " + mutant.what);
  }
}

}  // namespace

TEST_SUITE("campaign") {
  TEST_CASE("2,100 spoiled captures each end with a documented status, in time and memory") {
    const TemporaryFolder folder;
    const auto captures = small_captures(folder);
    for (const SmallCapture& capture : captures) {
      CAPTURE(capture.name);
      write_file(folder.file(capture.name), capture.bytes);
      const Run run = run_linked({"rank", folder.file(capture.name), "--quiet"});
      CAPTURE(run.errors);
      CHECK(run.status == 0);
    }
    Tally tally;
    std::vector<std::thread> workers;
    for (std::size_t worker = 0; worker < kWorkers; ++worker) {
      workers.emplace_back([&, worker] {
        for (std::size_t i = worker; i < captures.size(); i += kWorkers)
          run_mutants(captures[i], i, folder.path(), tally);
      });
    }
    for (std::thread& worker : workers) worker.join();
    std::string counts;
    for (const auto& [status, count] : tally.statuses)
      counts += " " + std::to_string(status) + ": " + std::to_string(count);
    MESSAGE("runs by status" << counts << "; most memory " << tally.peak_kib / 1024 << " MiB");
    for (const std::string& fault : tally.faults) FAIL_CHECK(fault);
    CHECK(tally.statuses.size() > 1);  // some can be read, some cannot
  }
}
