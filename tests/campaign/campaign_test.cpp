// Every reader of outside bytes, attacked with spoilt files. 1,000 of them in CI, ten times as many
// with LULL_CAMPAIGN=all. See RELIABILITY.md.
#include <doctest/doctest.h>

#include <algorithm>
#include <atomic>
#include <cstdlib>
#include <filesystem>
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
#include "support/samples.h"
#include "support/temporary_folder.h"

namespace {

using namespace lull::test;

using Words = std::vector<std::string>;

Run run_linked(Words words, const RunOptions& options = {}) {
  words.insert(words.begin(), "lull");
  return run_main(lull::cli::run, words, options);
}

// Sanitizers take address space without end, and ten times as long.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr int kMutantsOfEach = 4;
constexpr long kMemoryLimit = 0;
#else
constexpr int kMutantsOfEach = 48;
constexpr long kMemoryLimit = 1'500'000'000;
#endif
constexpr int kMutantsOfEachInAll = 480;
constexpr unsigned kTimeLimitS = 30;  // a run takes some hundredths; a machine may be busy
constexpr std::size_t kWorkers = 2;
constexpr const char* kFile = "FILE";   // in the words of a run: the spoilt file
constexpr const char* kFolder = "DIR";  // the folder that it is in
constexpr const char* kOut = "OUT";     // a name for results, without an ending

int mutants_of_each() {
  const char* text = std::getenv("LULL_CAMPAIGN");
  return text != nullptr && std::string(text) == "all" ? kMutantsOfEachInAll : kMutantsOfEach;
}

enum class Kind { bytes, text };

// A file and the runs that read it. The first word of a run names the program.
struct Subject {
  std::string name;  // with its ending
  Bytes bytes;
  Kind kind = Kind::bytes;
  std::vector<Words> runs;
  std::vector<std::string> beside{};  // files that belong into the same folder
  int slowness = 1;                   // as many times fewer mutants
};

// Empty if the run ended as runs may end.
std::string fault_of(const Run& run, const Subject& subject) {
  // Done, input cannot be read, nothing usable in it, a size that does not fit into the memory.
  const bool no_memory = run.status == 5 && run.errors.find("memory") != std::string::npos;
  bool documented = run.status == 0 || run.status == 3 || run.status == 4 || no_memory;
  // Values in a recipe are those of options.
  documented = documented || (run.status == 2 && subject.kind == Kind::text);
  if (!documented) return "status " + std::to_string(run.status) + ": " + run.errors;
  if (run.status != 0 && run.errors.find("lull") == std::string::npos)
    return "no message with status " + std::to_string(run.status);
  return {};
}

struct Tally {
  std::mutex mutex;
  std::map<int, int> statuses;
  long peak_kib = 0;
  std::vector<std::string> faults;

  void add(const Run& run, const Subject& subject, const std::string& what) {
    const std::lock_guard lock(mutex);
    ++statuses[run.status];
    peak_kib = std::max(peak_kib, run.peak_kib);
    const std::string fault = fault_of(run, subject);
    if (!fault.empty()) faults.push_back(what + ": " + fault);
  }
};

Run run_on(const Words& words, const std::string& file, const std::string& out) {
  Words filled = words;
  for (std::string& word : filled) {
    if (word == kFile) word = file;
    if (word.starts_with(kFolder))
      word.replace(0, 3, std::filesystem::path(file).parent_path().string());
    if (word.starts_with(kOut)) word.replace(0, 3, out);
  }
  const RunOptions options{.memory_limit = kMemoryLimit, .time_limit_s = kTimeLimitS};
  const std::string program = filled.front();
  if (program != "lull") {
    filled.front() = std::string(LULL_PROGRAMS) + "/" + program;
    return run_program(filled, options);
  }
  filled.erase(filled.begin());
  filled.insert(filled.end(), {"--quiet", "--threads", "1"});
  return run_linked(filled, options);
}

// Where the spoilt files of a subject are; others are beside them in `shared`.
void run_mutants(const Subject& subject, std::size_t number, const std::string& folder,
                 Tally& tally) {
  std::mt19937 random(static_cast<unsigned>(20240817 + number));
  const std::string own = folder + "/" + std::to_string(number);
  std::filesystem::create_directory(own);
  const std::string path = own + "/" + subject.name;
  for (const std::string& other : subject.beside)
    std::filesystem::copy_file(other, own + "/" + std::filesystem::path(other).filename().string());
  for (int i = 0; i < std::max(1, mutants_of_each() / subject.slowness); ++i) {
    const bool words = subject.kind == Kind::text && i % 4 != 0;
    const Mutant mutant =
        words ? mutate_text(subject.bytes, random) : mutate(subject.bytes, random);
    write_file(path, mutant.bytes);
    const Words& run = subject.runs[static_cast<std::size_t>(i) % subject.runs.size()];
    std::string what = subject.name + " " + std::to_string(i);
    for (const std::string& word : run) what += " " + word;
    tally.add(run_on(run, path, own + "/out"), subject, what + ", " + mutant.what);
  }
}

Subject from_file(const std::string& path, Kind kind, std::vector<Words> runs) {
  return {std::filesystem::path(path).filename().string(), read_file(path), kind, std::move(runs)};
}

void require_made(const Run& run) {
  CAPTURE(run.errors);
  REQUIRE(run.status == 0);
}

// What the program writes and reads again.
void add_own_files(const TemporaryFolder& folder, std::vector<Subject>& subjects) {
  const std::string cube = sample("globe_cube.fits");
  require_made(run_linked({"stack", cube, "-o", folder.file("s.tif"), "--quiet"}));
  require_made(
      run_linked({"finish", folder.file("s.linear.fits"), "-o", folder.file("f.png"), "--quiet"}));
  const std::string dark = sample("granules_dark.mkv");
  require_made(
      run_linked({"master", dark, "--kind", "dark", "-o", folder.file("m.fits"), "--quiet"}));
  require_made(run_linked({"rank", cube, "--csv", folder.file("r.csv"), "--quiet"}));
  const Words finish = {"lull", "finish", kFile, "-o", "OUT.png", "--overwrite"};
  const std::string linear = folder.file("s.linear.fits");
  subjects.push_back(from_file(linear, Kind::bytes, {finish}));
  subjects.back().slowness = 4;
  subjects.push_back(from_file(linear, Kind::text, {finish}));
  subjects.back().slowness = 4;
  const std::vector<Words> use_master = {
      {"lull", "rank", sample("granules.mkv"), "--dark", kFile},
      {"lull", "rank", sample("granules.mkv"), "--flat", kFile},
      {"lull", "master", kFile, "--kind", "dark", "-o", "OUT.fits", "--overwrite"}};
  subjects.push_back(from_file(folder.file("m.fits"), Kind::bytes, use_master));
  subjects.push_back(from_file(folder.file("m.fits"), Kind::text, use_master));
  subjects.push_back(
      from_file(folder.file("s.recipe.json"), Kind::text,
                {{"lull", "stack", "--recipe", kFile, "-o", "OUT.tif", "--overwrite"}}));
  subjects.back().slowness = 4;
  subjects.push_back(
      from_file(folder.file("f.finish.json"), Kind::text,
                {{"lull", "finish", linear, "--recipe", kFile, "-o", "OUT.tif", "--overwrite"}}));
  subjects.back().slowness = 4;
  subjects.push_back(from_file(
      folder.file("r.csv"), Kind::text,
      {{"lull", "metrics", cube, "--scores", kFile}, {"lull", "metrics", cube, "--truth", kFile}}));
  subjects.back().slowness = 4;
}

// Pictures that other programs write: those of the corpus of the fuzz targets.
void add_pictures(std::vector<Subject>& subjects) {
  const std::string corpus = std::string(LULL_TESTS) + "/fuzz/corpus/picture/";
  const std::vector<Words> as_picture = {
      {"lull", "finish", kFile, "-o", "OUT.tif", "--overwrite"},
      {"lull", "inspect", kFile},
      {"lull", "master", kFile, "--kind", "flat", "-o", "OUT.fits", "--overwrite"}};
  for (const char* name : {"deflate.tif", "float.tif", "rgb.tif", "g16.png", "rgb.png"})
    subjects.push_back(from_file(corpus + name, Kind::bytes, as_picture));
  for (const char* name : {"f32.fits", "i32.fits"})
    subjects.push_back(from_file(corpus + name, Kind::text, as_picture));
}

// The programs beside lull.
void add_tools(const TemporaryFolder& folder, std::vector<Subject>& subjects) {
  require_made(
      run_sim({"mars-fair", "-o", folder.path(), "--frames", "12", "--name", "tool", "--quiet"}));
  require_made(run_linked({"stack", folder.file("tool.mkv"), "-o", folder.file("tool.fits"),
                           "--finish", "none", "--report", "none", "--quiet"}));
  subjects.push_back(
      from_file(folder.file("tool.json"), Kind::text,
                {{"lull-sim", kFile, "-o", kOut, "--frames", "1", "--size", "32x32", "--quiet"}}));
  subjects.back().slowness = 8;
  const std::string truth = folder.file("tool.truth.fits");
  const std::vector<Words> judge = {{"lull-judge", folder.file("tool.fits"), kFile}};
  subjects.push_back(from_file(truth, Kind::bytes, judge));
  subjects.back().slowness = 2;
  subjects.push_back(from_file(truth, Kind::text, judge));
  subjects.back().slowness = 2;
  const std::string table = folder.file("tool.frames.csv");
  const std::vector<Words> bounds = {
      {"lull-bounds", folder.file("tool.mkv"), "DIR/tool.truth.fits", "--quiet"}};
  subjects.push_back(from_file(truth, Kind::text, bounds));
  subjects.back().slowness = 24;
  subjects.back().beside = {table};
  subjects.push_back(from_file(table, Kind::text, bounds));
  subjects.back().slowness = 24;
  subjects.back().beside = {truth};
}

std::vector<Subject> all_subjects(const TemporaryFolder& folder) {
  std::vector<Subject> subjects;
  for (const SmallCapture& capture : small_captures(folder)) {
    write_file(folder.file(capture.name), capture.bytes);
    require_made(run_linked({"rank", folder.file(capture.name), "--quiet"}));
    subjects.push_back({capture.name,
                        capture.bytes,
                        Kind::bytes,
                        {{"lull", "inspect", kFile, "--memory", "200M"},
                         {"lull", "rank", kFile, "--memory", "200M"}}});
  }
  add_pictures(subjects);
  add_own_files(folder, subjects);
  add_tools(folder, subjects);
  return subjects;
}

}  // namespace

TEST_SUITE("campaign") {
  TEST_CASE("1,000 spoilt files each end with a documented status, in time and memory") {
    const TemporaryFolder folder;
    const TemporaryFolder spoilt;
    const std::vector<Subject> subjects = all_subjects(folder);
    Tally tally;
    std::atomic<std::size_t> next = 0;
    std::vector<std::thread> workers;
    for (std::size_t worker = 0; worker < kWorkers; ++worker) {
      workers.emplace_back([&] {
        for (std::size_t i = next++; i < subjects.size(); i = next++)
          run_mutants(subjects[i], i, spoilt.path(), tally);
      });
    }
    for (std::thread& worker : workers) worker.join();
    std::string counts;
    for (const auto& [status, count] : tally.statuses)
      counts += " " + std::to_string(status) + ": " + std::to_string(count);
    MESSAGE(subjects.size() << " files, runs by status" << counts << "; most memory "
                            << tally.peak_kib / 1024 << " MiB");
    for (const std::string& fault : tally.faults) FAIL_CHECK(fault);
    CHECK(tally.statuses.size() > 2);  // some can be read, some cannot, of some nothing is usable
  }
}
