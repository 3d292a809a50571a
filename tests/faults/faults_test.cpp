// Covers: files/atomic_file, files/results, files/failure
// Each call on the files of a run fails once (all of them with LULL_FAULTS=all, otherwise some):
// earlier results stay whole or new ones are complete, the exit status is that of core/error.h, and
// no file is left. See RELIABILITY.md.
#include <doctest/doctest.h>

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include "support/bytes.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/text.h"

namespace {

using namespace lull::test;
namespace fs = std::filesystem;

const std::string kEarlier = "an earlier result";

struct Fault {
  const char* kind;
  int error_number;
  bool lasts = false;
};

const Fault kUnreadable{"read", EIO};

const std::vector<Fault> kFaults = {{"open", EIO},     {"read", EIO},         {"read", EIO, true},
                                    {"write", ENOSPC}, {"write", EIO, true},  {"sync", EIO},
                                    {"rename", EIO},   {"rename", EIO, true}, {"memory", ENOMEM}};

bool whole_campaign() {
  const char* text = std::getenv("LULL_FAULTS");
  return text != nullptr && std::string(text) == "all";
}

using Files = std::map<std::string, Bytes>;

// A run in a folder that holds its input and earlier results.
class Subject {
 public:
  Subject(std::vector<std::string> words, std::vector<std::string> results)
      : words_(std::move(words)), results_(std::move(results)) {
    words_.insert(words_.end(), {"--quiet", "--overwrite", "--threads", "1"});
  }

  void take(const std::string& file, const std::string& name) const {
    fs::copy(file, folder_.file(name), fs::copy_options::recursive);
  }

  // Runs it undisturbed once: what is right.
  void learn() {
    const Run run = run_with({"none", 0}, 0);
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    right_ = files();
    inputs_ = folder_.names().size() - results_.size();
  }

  [[nodiscard]] long calls(const Fault& fault) const {
    static_cast<void>(run_with(fault, 0));
    return std::stol(text_of(counts_.file("count")));
  }

  // @return whether the run failed.
  bool disturb(const Fault& fault, long at) const {
    for (const std::string& result : results_) std::ofstream(folder_.file(result)) << kEarlier;
    const Run run = run_with(fault, at);
    CAPTURE(words_.front());
    const std::string kind = fault.kind;
    CAPTURE(kind);
    CAPTURE(fault.lasts);
    CAPTURE(at);
    CAPTURE(run.status);
    CAPTURE(run.errors);
    const Files now = files();
    if (run.status == 0) {
      CHECK(now == right_);
    } else {
      for (const std::string& result : results_) {
        CAPTURE(result);
        const bool earlier = text_of(folder_.file(result)) == kEarlier;
        // A disk that renames one file and then none any more cannot be put back: it is reported.
        const bool reported = now.at(result) == right_.at(result) &&
                              contains(run.errors, "Already replaced") &&
                              contains(run.errors, folder_.file(result));
        CHECK((earlier || (fault.lasts && reported)));
      }
      check_status(run, fault);
    }
    CHECK(folder_.names().size() == inputs_ + results_.size());
    return run.status != 0;
  }

 private:
  // A result that is read back, for its checksum or a later part of it, counts as one that cannot
  // be written.
  [[nodiscard]] bool names_result(const std::string& errors) const {
    return std::any_of(results_.begin(), results_.end(), [&](const std::string& result) {
      return contains(errors, "cannot write '" + result);
    });
  }

  void check_status(const Run& run, const Fault& fault) const {
    const std::string kind = fault.kind;
    if (kind == "memory") {
      CHECK(run.status == 5);
      CHECK(contains(run.errors, "memory"));
    } else if (kind == "read") {
      CHECK((run.status == 3 || (run.status == 5 && names_result(run.errors))));
      CHECK(contains(run.errors, "Input/output error"));
    } else if (kind == "open") {
      CHECK((run.status == 3 || run.status == 5));
    } else {
      CHECK(run.status == 5);
    }
  }

  [[nodiscard]] Run run_with(const Fault& fault, long at) const {
    RunOptions options;
    options.folder = folder_.path();
    options.time_limit_s = 120;
    options.environment = {("LD_PRELOAD=" LULL_FAIL_CALLS),
                           std::string("LULL_FAULT_KIND=") + fault.kind,
                           "LULL_FAULT_AT=" + std::to_string(at),
                           std::string("LULL_FAULT_LASTS=") + (fault.lasts ? "1" : ""),
                           "LULL_FAULT_ERROR=" + std::to_string(fault.error_number),
                           "LULL_FAULT_PATH=" + folder_.path(),
                           "LULL_FAULT_COUNT=" + counts_.file("count")};
    return run_lull(words_, options);
  }

  [[nodiscard]] Files files() const {
    Files out;
    for (const std::string& result : results_) out[result] = read_file(folder_.file(result));
    return out;
  }

  TemporaryFolder folder_;
  TemporaryFolder counts_;
  std::vector<std::string> words_;
  std::vector<std::string> results_;
  Files right_;
  std::size_t inputs_ = 0;
};

// @param runs  of each fault, spread evenly; the whole campaign makes every one.
void disturb_all(Subject& subject, long runs) {
  subject.learn();
  long tried = 0;
  long failed = 0;
  for (const Fault& fault : kFaults) {
    const long calls = subject.calls(fault);
    const long step = whole_campaign() ? 1 : std::max(1L, (calls + runs - 1) / runs);
    // The last calls are those near the end of the run.
    for (long at = calls; at >= 1; at -= step) {
      failed += subject.disturb(fault, at) ? 1 : 0;
      ++tried;
    }
  }
  MESSAGE(tried << " runs, " << failed << " of them failed as they should");
  CHECK(failed > 0);
}

}  // namespace

TEST_SUITE("faults") {
  TEST_CASE("stack: every result or none") {
    Subject subject({"stack", "cube.fits", "-o", "a.tif", "--report", "a.html", "--share", "s.jpg"},
                    {"a.tif", "a.linear.fits", "a.recipe.json", "a.html", "s.jpg"});
    subject.take(sample("globe_cube.fits"), "cube.fits");
    disturb_all(subject, 2);
  }

  TEST_CASE("finish: every result or none") {
    const TemporaryFolder folder;
    const Run made = run_lull({"stack", sample("globe_cube.fits"), "-o", folder.file("a.tif")});
    REQUIRE(made.status == 0);
    Subject subject({"finish", "a.linear.fits", "-o", "b.png", "--share", "s.png"},
                    {"b.png", "b.finish.json", "s.png"});
    subject.take(folder.file("a.linear.fits"), "a.linear.fits");
    disturb_all(subject, 2);
  }

  TEST_CASE("master: its result or none") {
    Subject subject({"master", "dark.mkv", "--kind", "dark", "-o", "m.fits"}, {"m.fits"});
    subject.take(sample("granules_dark.mkv"), "dark.mkv");
    disturb_all(subject, 2);
  }

  TEST_CASE("rank: table and video or none") {
    Subject subject({"rank", "cube.fits", "--csv", "r.csv", "--best-first", "r.mkv"},
                    {"r.csv", "r.mkv"});
    subject.take(sample("globe_cube.fits"), "cube.fits");
    disturb_all(subject, 2);
  }

  TEST_CASE("a disk that fails while a sequence is read is no damaged picture") {
    Subject subject({"rank", "frames/globe_%03d.png", "--csv", "r.csv"}, {"r.csv"});
    subject.take(LULL_SAMPLES "/globe_frames", "frames");
    subject.learn();
    const long calls = subject.calls(kUnreadable);
    CHECK(calls > 10);
    for (long at = calls; at >= 1; at -= whole_campaign() ? 1 : calls / 4)
      CHECK(subject.disturb(kUnreadable, at));
  }

  TEST_CASE("a recipe that cannot be read is not called invalid JSON") {
    Subject subject({"stack", "--recipe", "r.json", "-o", "b.tif"},
                    {"b.tif", "b.linear.fits", "b.recipe.json"});
    const TemporaryFolder folder;
    subject.take(sample("globe_cube.fits"), "cube.fits");
    const Run made =
        run_lull({"stack", sample("globe_cube.fits"), "-o", folder.file("a.tif"), "--quiet"});
    REQUIRE(made.status == 0);
    subject.take(folder.file("a.recipe.json"), "r.json");
    subject.learn();
    CHECK(subject.disturb(kUnreadable, 1));
  }
}
