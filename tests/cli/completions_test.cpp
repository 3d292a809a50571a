// Covers: cli/page_tree
#include "cli/completions.h"

#include <doctest/doctest.h>

#include "cli/pages.h"
#include "cli/verb.h"
#include "core/error.h"
#include "run/finish_request.h"
#include "run/inspect_request.h"
#include "run/master_request.h"
#include "run/metrics_request.h"
#include "run/rank_request.h"
#include "run/stack_request.h"
#include "support/text.h"

namespace {

using namespace lull;
using namespace lull::cli;
using lull::test::contains;

std::vector<VerbHelp> known_verbs() {
  std::vector<VerbHelp> out;
  for (const auto& verb : all_verbs()) out.push_back(verb->help());
  return out;
}

/// Sets each word that is offered; the option itself says whether it is a value.
/// @return how many there were.
template <class Request>
int set_every_word(const run::OptionTable<Request>& table) {
  int count = 0;
  for (const run::Option<Request>& option : table) {
    for (const std::string& word : value_words(option.facts).words) {
      CAPTURE(option.facts.name);
      CAPTURE(word);
      Request request;
      CHECK_NOTHROW(option.set(request, word));
      ++count;
    }
  }
  return count;
}

}  // namespace

TEST_SUITE("cli/completions") {
  TEST_CASE("every word that is offered is a value of its option") {
    const int words = set_every_word(run::inspect_options()) + set_every_word(run::rank_options()) +
                      set_every_word(run::stack_options()) + set_every_word(run::finish_options()) +
                      set_every_word(run::master_options()) +
                      set_every_word(run::metrics_options());
    CHECK(words > 60);
  }

  TEST_CASE("words and files are told from placeholders") {
    const ValueWords tone = value_words({.name = "--tone", .value = "linear|gamma|asinh"});
    CHECK(tone.words == std::vector<std::string>{"linear", "gamma", "asinh"});
    CHECK_FALSE(tone.file);
    CHECK(value_words({.name = "--dark", .value = "FILE"}).file);
    const ValueWords keep = value_words({.name = "--keep", .value = "auto|15%|300"});
    CHECK(keep.words == std::vector<std::string>{"auto"});
    const ValueWords both = value_words({.name = "--blur", .value = "auto|none|FILE"});
    CHECK(both.words == std::vector<std::string>{"auto", "none"});
    CHECK(both.file);
    CHECK(value_words({.name = "--aperture", .value = "MM"}).words.empty());
  }

  TEST_CASE("every shell gets every command and every option of it") {
    const auto verbs = known_verbs();
    for (const std::string& shell : shell_names()) {
      CAPTURE(shell);
      const std::string script = completions(shell, verbs, page_names());
      for (const VerbHelp& verb : verbs) {
        CHECK(contains(script, verb.name));
        for (const run::OptionFacts& option : verb.options) {
          CAPTURE(option.name);
          const std::string name = shell == "fish" ? " -l " + option.name.substr(2) : option.name;
          if (!option.by_place()) CHECK(contains(script, name));
        }
      }
    }
    CHECK_THROWS_WITH_AS(static_cast<void>(completions("fsh", verbs, page_names())),
                         doctest::Contains("fish"), UsageError);
  }

  TEST_CASE("a page names other pages as its reader finds them") {
    const auto verbs = known_verbs();
    CHECK(contains(page("stack", PageFormat::text, verbs, 200), "(read lull help sun first)"));
    CHECK(contains(page("stack", PageFormat::manual, verbs, 80), "\\fBlull\\-sun(7)\\f[]"));
    CHECK(contains(page("lull", PageFormat::manual, verbs, 80), "\\fBlull\\-stack(1)\\f[]"));
    CHECK(contains(page("stack", PageFormat::html, verbs, 80), "<a href=\"sun.html\">sun</a>"));
  }

  TEST_CASE("a table becomes a list in the manual, and no row is lost") {
    const auto verbs = known_verbs();
    const std::string manual = page("results", PageFormat::manual, verbs, 80);
    CHECK_FALSE(contains(manual, ".TS"));
    CHECK(contains(manual, "\\fBmoon.tif\\f[]: the finished picture"));
  }
}
