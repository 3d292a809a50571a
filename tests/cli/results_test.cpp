// Covers: run/outputs, cli/verb
#include <doctest/doctest.h>

#include <filesystem>
#include <map>

#include "support/bytes.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/text.h"

namespace {

using namespace lull::test;
namespace fs = std::filesystem;

std::map<std::string, Bytes> files_in(const TemporaryFolder& folder) {
  std::map<std::string, Bytes> files;
  for (const auto& entry : fs::directory_iterator(folder.path()))
    files[entry.path().filename()] = read_file(entry.path());
  return files;
}

Run run_in(const TemporaryFolder& folder, std::vector<std::string> words) {
  RunOptions options;
  options.folder = folder.path();
  words.emplace_back("--quiet");
  return run_lull(words, options);
}

// The run writes these files; a second one refuses with all their names and changes nothing; a
// third one may replace them.
void check_kept(const TemporaryFolder& folder, std::vector<std::string> words,
                const std::vector<std::string>& results) {
  CAPTURE(words[0]);
  const auto before = files_in(folder);
  const Run first = run_in(folder, words);
  CAPTURE(first.errors);
  REQUIRE(first.status == 0);
  const auto after = files_in(folder);
  CHECK(after.size() == before.size() + results.size());
  const Run second = run_in(folder, words);
  CAPTURE(second.errors);
  CHECK(second.status == 5);
  CHECK(contains(second.errors, "--overwrite"));
  for (const std::string& name : results) {
    CAPTURE(name);
    CHECK(after.contains(name));
    CHECK(contains(second.errors, name));
  }
  CHECK(files_in(folder) == after);
  words.emplace_back("--overwrite");
  CHECK(run_in(folder, words).status == 0);
  CHECK(files_in(folder).size() == after.size());
}

}  // namespace

TEST_SUITE("cli/results") {
  TEST_CASE("results are named after the input; none is overwritten unasked") {
    const TemporaryFolder folder;
    const std::string capture = sample("granules.mkv");
    check_kept(folder, {"stack", capture, "--keep", "10%", "--share", "s.jpg"},
               {"granules_stack.tif", "granules_stack.linear.fits", "granules_stack.recipe.json",
                "granules_stack.html", "s.jpg"});
    check_kept(folder, {"finish", "granules_stack.linear.fits"},
               {"granules_stack_finished.tif", "granules_stack_finished.finish.json",
                "granules_stack_finished.finish.html"});
    check_kept(folder, {"master", sample("granules_dark.mkv"), "--kind", "dark"},
               {"granules_dark_dark.fits"});
    check_kept(folder, {"rank", capture, "--csv", "r.csv", "--best-first", "b.mkv", "--count", "2"},
               {"r.csv", "b.mkv"});
    check_kept(folder, {"inspect", capture, "--plot", "i.svg"}, {"i.svg"});
    check_kept(folder, {"metrics", capture, "--csv", "m.csv", "--plot", "m.svg"},
               {"m.csv", "m.svg"});
  }

  TEST_CASE("one file in the way keeps all others from being written, before any work") {
    const TemporaryFolder folder;
    write_file(folder.file("a.recipe.json"), Bytes(3, std::byte{7}));
    // The capture does not even exist.
    const Run run = run_in(folder, {"stack", "none.ser", "-o", "a.tif"});
    CHECK(run.status == 5);
    CHECK(contains(run.errors, "a.recipe.json exists already"));
    CHECK(files_in(folder).size() == 1);
  }

  TEST_CASE("every program tells its version, by either name") {
    for (const char* word : {"-V", "--version"}) {
      const std::string version = run_lull({word}).output;
      CHECK(version.starts_with("Lull "));
      CHECK(run_sim({word}).output == version);
      CHECK(run_judge({word}).output == version);
      CHECK(run_bounds({word}).output == version);
    }
  }
}
