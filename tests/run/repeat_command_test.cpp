#include "run/repeat_command.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "support/run_program.h"

namespace {

using namespace lull::run;

std::string shell(const std::string& command) {
  return lull::test::run_program({"sh", "-c", command}).output;
}

}  // namespace

TEST_SUITE("run/repeat_command") {
  TEST_CASE("a shell reads a word back to the same bytes") {
    for (const std::string word : {"moon.ser", "a b", "it's", "$(touch x)", "`id`", "a\nb", "*",
                                   "~", "\\", "\"", "-o", "", "50%", "#x", "!x", "a;b&c|d<e>f"}) {
      CAPTURE(word);
      CHECK(shell("printf %s " + shell_word(word)) == word);
    }
    CHECK(shell_word("captures/moon_01.ser") == "captures/moon_01.ser");
  }

  TEST_CASE("only what differs from the defaults is written, and a capture is never an option") {
    const nlohmann::json defaults = {
        {"capture", ""}, {"keep", "auto"}, {"white_balance", "none"}, {"aperture", 0.0}};
    nlohmann::json choices = defaults;
    choices["capture"] = "moon.ser";
    CHECK(repeat_command(choices, defaults, {"-o", "a.tif"}) == "lull stack moon.ser -o a.tif");
    choices = {{"capture", "-v"}, {"keep", "15%"}, {"white_balance", "grey"}, {"aperture", 203.5}};
    CHECK(repeat_command(choices, defaults, {}) ==
          "lull stack ./-v --aperture 203.5 --keep 15% --white-balance grey");
  }
}
