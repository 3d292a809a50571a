#include "run/repeat_command.h"

#include <doctest/doctest.h>

#include "run/stack_request.h"
#include "support/run_program.h"

namespace {

using namespace lull;
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

  TEST_CASE("all that differs from the defaults is written, and no value becomes an option") {
    StackRequest request;
    request.input.captures = {"moon.ser"};
    request.output = "a.tif";
    CHECK(repeat_command("stack", stack_options(), request) == "lull stack moon.ser -o a.tif");
    request.input.captures = {"-v", "it's.ser"};
    request.instrument.aperture_mm = 203.5;
    request.stacking.keep = quality::parse_keep("15%");
    request.look.share = "s.jpg";
    request.look.caption = "-50 C, seeing 3\"";
    request.look.scale_bar = ScaleBarChoice::drawn;
    request.look.object = Object::jupiter;
    CHECK(repeat_command("stack", stack_options(), request) ==
          "lull stack ./-v 'it'\\''s.ser' -o a.tif --aperture 203.5 --caption='-50 C, seeing 3\"' "
          "--keep 15% --object jupiter --scale-bar --share s.jpg");
  }
}
