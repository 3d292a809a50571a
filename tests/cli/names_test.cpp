// Covers: cli/verb, run/recipe_options, run/repeat_command
// Names that other programs or people chose: long ones, bytes that are not UTF-8, names that lead
// nowhere. Each run ends in its exit status (core/error.h), never by a signal or an internal error.
#include <doctest/doctest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
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

constexpr int kNoInput = 3;
constexpr int kNoOutput = 5;
const std::string kLatin1 = "mond \xE9.fits";  // as programs of old wrote it

std::string cube() { return sample("globe_cube.fits"); }

/// Each way in for a file name, with exit status 3 where `name` is not a file that can be read.
std::vector<std::vector<std::string>> readers(const std::string& name, const std::string& output) {
  return {{"inspect", name},
          {"rank", name},
          {"stack", name, "-o", output},
          {"stack", cube(), "--dark", name, "-o", output},
          {"stack", "--recipe", name, "-o", output},
          {"finish", name, "-o", output},
          {"master", name, "--kind", "dark", "-o", output},
          {"metrics", cube(), "--truth", name}};
}

void check_reading(const std::string& name, const RunOptions& options = {}) {
  const TemporaryFolder folder;
  for (const auto& words : readers(name, folder.file("out.fits"))) {
    CAPTURE(words[0]);
    CAPTURE(words[1].substr(0, 80));
    RunOptions limited = options;
    limited.time_limit_s = 60;
    const Run run = run_lull(words, limited);
    CAPTURE(run.errors.substr(0, 400));
    CHECK(run.status == kNoInput);
    CHECK(!fs::exists(folder.file("out.fits")));
  }
}

void check_writing(const std::string& name, const RunOptions& options = {}) {
  const std::string stack = sample("highland.truth.fits");
  const std::vector<std::vector<std::string>> writers = {
      {"stack", cube(), "-o", name},
      {"finish", stack, "-o", name},
      {"master", cube(), "--kind", "dark", "-o", name},
      {"rank", cube(), "--csv", name},
      {"rank", cube(), "--csv", name, "--best-first", name + ".mkv"}};
  for (const auto& words : writers) {
    CAPTURE(words[0]);
    const Run run = run_lull(words, options);
    CAPTURE(run.errors.substr(0, 400));
    CHECK(run.status == kNoOutput);
  }
}

}  // namespace

TEST_SUITE("cli/names") {
  TEST_CASE("names of 20,000 and of 100,000 characters are refused, not a crash") {
    for (const std::size_t length : {300UL, 20'000UL, 100'000UL}) {
      check_reading(std::string(length, 'x') + ".fits");
      check_reading(std::string(length, 'x') + "_%04d.fits");
      check_writing(std::string(length, 'x') + ".fits");
    }
  }

  TEST_CASE("a recipe that names a capture of 100,000 characters ends in exit 3") {
    const TemporaryFolder folder;
    const Run first = run_lull({"stack", cube(), "-o", folder.file("a.fits")});
    CAPTURE(first.errors);
    REQUIRE(first.status == 0);
    nlohmann::json recipe = nlohmann::json::parse(text_of(folder.file("a.recipe.json")));
    recipe["options"]["capture"] = std::string(100'000, 'x') + "%04d.png";
    std::ofstream(folder.file("long.json")) << recipe;
    const Run run =
        run_lull({"stack", "--recipe", folder.file("long.json"), "-o", folder.file("b.fits")});
    CAPTURE(run.errors.substr(0, 400));
    CHECK(run.status == kNoInput);
  }

  TEST_CASE("a stack whose names are not UTF-8 is written whole, and its recipe repeats it") {
    const TemporaryFolder folder;
    fs::copy_file(cube(), folder.file(kLatin1));
    const std::string output = folder.file("\xFF out.fits");
    const Run run = run_lull({"stack", folder.file(kLatin1), "-o", output, "--report",
                              folder.file("\xFF.html"), "--json"});
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    const nlohmann::json json = nlohmann::json::parse(run.output);
    CHECK(contains(json.at("capture").get<std::string>(), "/mond%20%E9.fits"));
    CHECK(json.at("capture").get<std::string>().starts_with("file:"));
    const std::string page = text_of(folder.file("\xFF.html"));
    CHECK(contains(page, "mond%20%E9.fits"));
    CHECK(contains(page, "mond \\351.fits"));  // the command that repeats it
    const nlohmann::json recipe =
        nlohmann::json::parse(text_of(folder.file("\xFF out.recipe.json")));
    CHECK(recipe.at("options").at("capture") == json.at("capture"));
    const Run again = run_lull({"stack", "--recipe", folder.file("\xFF out.recipe.json"), "-o",
                                folder.file("again.fits")});
    CAPTURE(again.errors);
    REQUIRE(again.status == 0);
    CHECK(read_file(folder.file("again.fits")) == read_file(output));
  }

  TEST_CASE("every verb ends alike and prints JSON whether a name is UTF-8 or not") {
    const TemporaryFolder folder;
    const auto statuses = [&](const std::string& letter) {
      const auto at = [&](const char* name) { return folder.file(letter + name); };
      fs::copy_file(sample("highland.mkv"), at(".mkv"));
      fs::copy_file(sample("highland.frames.csv"), at(".csv"));
      const std::vector<std::vector<std::string>> verbs = {
          {"inspect", at(".mkv")},
          {"rank", at(".mkv"), "--csv", at("rank.csv")},
          {"metrics", at(".mkv"), "--truth", at(".csv"), "--plot", at(".svg")},
          {"master", at(".mkv"), "--kind", "flat", "-o", at("flat.fits")},
          {"stack", at(".mkv"), "-o", at(".tif"), "--flat", at("flat.fits")},
          {"finish", at(".linear.fits"), "-o", at("b.png"), "--share", at("s.jpg")}};
      std::vector<int> out;
      for (std::vector<std::string> words : verbs) {
        CAPTURE(words[0]);
        words.emplace_back("--json");
        const Run run = run_lull(words);
        CAPTURE(run.errors);
        CHECK(nlohmann::json::accept(run.output));
        out.push_back(run.status);
      }
      return out;
    };
    const std::vector<int> usual = statuses("e");
    CHECK(usual == std::vector<int>(usual.size(), 0));
    CHECK(statuses("\xE9") == usual);
  }

  TEST_CASE("names that lead nowhere end in exit 3 where they are read, 5 where they are written") {
    const TemporaryFolder folder;
    fs::create_symlink("loop.fits", folder.file("loop.fits"));
    check_reading(folder.file("loop.fits"));
    check_writing(folder.file("loop.fits"));
    check_reading(cube() + "/inside.fits");  // a file is no folder
    check_writing(cube() + "/inside.fits");
  }

  TEST_CASE("a current folder that is gone ends in exit 3 or 5") {
    const TemporaryFolder folder;
    const std::string gone = folder.file("gone");
    // The shell enters the folder, deletes it, and becomes lull.
    const auto from_gone = [&](std::vector<std::string> words) {
      fs::create_directory(gone);
      words.insert(words.begin(), {"/bin/sh", "-c", "cd \"$0\" && rmdir \"$0\" && exec \"$@\"",
                                   gone, (LULL_PROGRAMS "/lull")});
      return run_program(words);
    };
    for (const auto& words : readers("a.fits", folder.file("out.fits"))) {
      CAPTURE(words[0]);
      const Run run = from_gone(words);
      CAPTURE(run.errors);
      CHECK(run.status == kNoInput);
    }
    const Run run = from_gone({"stack", cube(), "-o", "out.fits"});
    CAPTURE(run.errors);
    CHECK(run.status == kNoOutput);
    CHECK(from_gone({"rank", cube(), "--csv", "a.csv", "--best-first", "b.mkv"}).status ==
          kNoOutput);
  }

  TEST_CASE("without permission a run ends in exit 3 or 5") {
    const TemporaryFolder folder;
    fs::copy_file(cube(), folder.file("a.fits"));
    fs::create_directory(folder.file("closed"));
    fs::copy_file(cube(), folder.file("closed/a.fits"));
    fs::permissions(folder.path(), fs::perms{0755});
    fs::permissions(folder.file("closed"), fs::perms::none);
    fs::create_directory(folder.file("out"));
    fs::permissions(folder.file("out"), fs::perms::all);
    // The administrator may do all, so the run is another user's: nobody has no name on any system.
    const bool administrator = ::geteuid() == 0;
    const auto as_user = [&](std::vector<std::string> words) {
      words.insert(words.begin(), LULL_PROGRAMS "/lull");
      if (administrator)
        words.insert(words.begin(),
                     {"setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"});
      return run_program(words);
    };
    for (const auto& words : readers(folder.file("closed/a.fits"), folder.file("out/b.fits"))) {
      CAPTURE(words[0]);
      const Run run = as_user(words);
      CAPTURE(run.errors);
      CHECK(run.status == kNoInput);
      CHECK(contains(run.errors, "no permission"));
    }
    const Run run = as_user({"stack", folder.file("a.fits"), "-o", folder.file("closed/b.fits")});
    CAPTURE(run.errors);
    CHECK(run.status == kNoOutput);
    fs::permissions(folder.file("closed"), fs::perms::owner_all);
  }

  TEST_CASE("where the system refuses threads, one thread does; two are refused in plain words") {
    const TemporaryFolder folder;
    fs::permissions(folder.path(), fs::perms::all);
    const auto with_threads = [&](const std::string& threads) {
      std::vector<std::string> words = {
          "prlimit", "--nproc=1", (LULL_PROGRAMS "/lull"),        "stack",
          cube(),    "-o",        folder.file(threads + ".fits"), "--threads",
          threads};
      if (::geteuid() == 0)  // no limit binds the administrator
        words.insert(words.begin(),
                     {"setpriv", "--reuid=65533", "--regid=65533", "--clear-groups"});
      // The leak sanitizer would need a thread of its own.
      return run_program(words, {.environment = {"ASAN_OPTIONS=detect_leaks=0"}});
    };
    const Run one = with_threads("1");
    CAPTURE(one.errors);
    CHECK(one.status == 0);
    const Run two = with_threads("2");
    CAPTURE(two.errors);
    CHECK(two.status == kNoOutput);
    CHECK(contains(two.errors, "give --threads 1"));
    CHECK(!fs::exists(folder.file("2.fits")));
  }

  TEST_CASE("named pipes are refused at once by every reader") {
    const TemporaryFolder folder;
    REQUIRE(::mkfifo(folder.file("pipe.fits").c_str(), 0600) == 0);
    check_reading(folder.file("pipe.fits"));
  }
}
