#include "cli/streams.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <sstream>
#include <string>
#include <vector>

#include "support/bytes.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull::test;

namespace {

// The shell redirects, then becomes lull.
Run redirected(const std::string& how, std::vector<std::string> words) {
  words.insert(words.begin(),
               {"/bin/sh", "-c", "exec \"$@\" " + how, "sh", (LULL_PROGRAMS "/lull")});
  return run_program(words);
}

}  // namespace

TEST_SUITE("cli/streams") {
  TEST_CASE("control characters of ECMA-48 are written out, all else stays") {
    using lull::cli::printable;
    CHECK(printable("a\x1B]0;title\x07 \x7F") == "a\\x1b]0;title\\x07 \\x7f");
    CHECK(printable("a\xC2\x9B"
                    "2J\xC2\x80\xC2\xA0") == "a\\u009b2J\\u0080\xC2\xA0");
    CHECK(printable("r\r\tline\n") == "r\\x0d\tline\n");
    CHECK(printable("α 0.7″ – mond \xE9") == "α 0.7″ – mond %E9");
    CHECK(printable("\xC2") == "%C2");
  }

  TEST_CASE(
      "names reach neither standard output nor standard error with their control characters") {
    const TemporaryFolder folder;
    const std::string name = folder.file("\x1B[2Jmoon.fits");
    std::filesystem::copy_file(sample("globe_cube.fits"), name);
    for (const std::string& path : {name, folder.file("\x1B[2Jnone.fits")}) {
      const Run run = run_lull({"rank", path});
      CHECK(run.text().find('\x1B') == std::string::npos);
      CHECK(contains(run.text(), "\\x1b[2J"));
    }
  }

  // script(1) of util-linux gives the program a terminal of 60 columns.
  TEST_CASE("errors are broken at the width of a terminal, and whole where there is none") {
    const std::string name = "no_capture_of_this_name_anywhere.ser";
    const std::string command = std::string("stty cols 60; ") + LULL_PROGRAMS "/lull stack " +
                                name + " another_capture_that_is_not_there.ser";
    const Run shown = run_program({"script", "-qec", command, "/dev/null"});
    std::istringstream lines(shown.text());
    int count = 0;
    for (std::string line; std::getline(lines, line); ++count) {
      CAPTURE(line);
      CHECK(line.size() <= 61);  // a terminal ends its lines with CR and LF
    }
    CHECK(count >= 2);
    CHECK(contains(shown.text(), name));
    const Run piped = run_lull({"stack", name});
    CHECK(std::count(piped.errors.begin(), piped.errors.end(), '\n') == 1);
  }

  TEST_CASE("libav's own lines are not shown") {
    const TemporaryFolder folder;
    Bytes bytes = read_file(sample("telephone.mp4"));
    bytes.resize(60000);
    write_file(folder.file("cut.mp4"), bytes);
    const Run run = run_lull({"inspect", folder.file("cut.mp4")});
    CHECK(run.status == 3);
    CHECK(run.errors.starts_with("lull: "));
  }

  TEST_CASE("standard error that is closed or full does not end a run") {
    const TemporaryFolder folder;
    for (const std::string how : {"2>&-", "2>/dev/full"}) {
      CAPTURE(how);
      const std::string output = folder.file("a.fits");
      const Run run = redirected(how, {"stack", sample("globe_cube.fits"), "-o", output, "--finish",
                                       "none", "--overwrite"});
      CHECK(run.status == 0);
      // No message stands in the picture.
      CHECK(text_of(output).starts_with("SIMPLE  ="));
      CHECK(redirected(how, {"stack", folder.file("none.fits"), "-o", folder.file("b.fits")})
                .status == 3);
    }
  }

  TEST_CASE("standard output that is closed is an output that cannot be written") {
    const Run run = redirected(">&-", {"inspect", sample("globe_cube.fits")});
    CAPTURE(run.errors);
    CHECK(run.status == 5);
  }

  TEST_CASE("help and version that cannot be written end in exit 5") {
    for (const std::vector<std::string>& words : std::vector<std::vector<std::string>>{
             {"--version"}, {"--help"}, {"stack", "--help"}, {"help"}}) {
      CAPTURE(words.front());
      for (const std::string how : {">/dev/full", ">&-"}) {
        const Run run = redirected(how, words);
        CHECK(run.status == 5);
        CHECK(contains(run.errors, "standard output cannot be written"));
      }
    }
  }

  TEST_CASE("after -- a name may begin with a dash") {
    const TemporaryFolder folder;
    std::filesystem::copy_file(sample("globe_cube.fits"), folder.file("-moon.fits"));
    RunOptions options;
    options.folder = folder.path();
    const Run run = run_lull({"rank", "--quiet", "--", "-moon.fits"}, options);
    CAPTURE(run.errors);
    CHECK(run.status == 0);
    CHECK(contains(run.output, "-moon.fits"));
  }
}
