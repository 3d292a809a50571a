// Covers: cli/help, cli/verb, cli/verbs, cli/presentation
#include "cli/pages.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "cli/verb.h"
#include "core/error.h"
#include "support/run_program.h"
#include "support/text.h"

TEST_SUITE("cli/pages") {
  namespace {

  using namespace lull::cli;
  using lull::test::contains;
  namespace fs = std::filesystem;

  std::vector<VerbHelp> known_verbs() {
    std::vector<VerbHelp> out;
    for (const auto& verb : all_verbs()) out.push_back(verb->help());
    return out;
  }

  }  // namespace

  TEST_CASE("every command has a page, and every option of it stands there with its help") {
    const auto verbs = known_verbs();
    const auto names = page_names();
    for (const VerbHelp& verb : verbs) {
      CAPTURE(verb.name);
      REQUIRE(std::count(names.begin(), names.end(), verb.name) == 1);
      const std::string shown = page(verb.name, PageFormat::markdown, verbs, 80);
      CHECK_FALSE(contains(shown, "<!-- options"));
      for (const auto& option : verb.options) {
        CAPTURE(option.name);
        CHECK(contains(shown, (option.by_place() ? option.value : option.name)));
        CHECK(contains(shown, option.help));
      }
    }
  }

  TEST_CASE("every page of src/docs is part of the program, and links to pages that exist") {
    const auto names = page_names();
    const fs::path folder = fs::path(LULL_TESTS) / "../src/docs";
    std::size_t files = 0;
    for (const auto& entry : fs::directory_iterator(folder)) {
      if (entry.path().extension() != ".md") continue;
      ++files;
      CAPTURE(entry.path().string());
      CHECK(std::count(names.begin(), names.end(), entry.path().stem().string()) == 1);
      std::ifstream file(entry.path());
      const std::string text{std::istreambuf_iterator<char>(file), {}};
      for (std::size_t at = text.find("]("); at != std::string::npos;
           at = text.find("](", at + 1)) {
        const std::string link = text.substr(at + 2, text.find(')', at) - at - 2);
        CAPTURE(link);
        CHECK(fs::exists(folder / link.substr(0, link.find('#'))));
      }
    }
    CHECK(files == names.size());
  }

  TEST_CASE("text is wrapped at the width asked for, but for examples and single long words") {
    const auto verbs = known_verbs();
    for (const VerbHelp& verb : verbs) {
      std::istringstream lines(help_text(verb, 80));
      CHECK(contains(help_text(verb, 80), "\nExample: lull " + verb.name + " "));
      for (std::string line; std::getline(lines, line);) {
        CAPTURE(line);
        CHECK((line.size() <= 80 || line.starts_with("Example: ")));
      }
    }
  }

  TEST_CASE("the list of commands fits into 80 columns, with an example") {
    const auto run = lull::test::run_lull({"help"});
    CHECK(contains(run.output, "\nExample: lull stack "));
    std::istringstream lines(run.output);
    for (std::string line; std::getline(lines, line);) {
      CAPTURE(line);
      CHECK(line.size() <= 80);
    }
  }

  TEST_CASE("results are broken at spaces, and tables are left alone") {
    const std::string table = "measure          rho     tau  and so on\n";
    CHECK(fitted_lines("one two three four\n" + table, 12) == "one two\n  three four\n" + table);
    CHECK(fitted_lines("short\n\nabcdefghijklmnop\n", 12) == "short\n\nabcdefghijklmnop\n");
    CHECK(fitted_lines("wrote my best night.tif\n", 12) == "wrote my best night.tif\n");
    CHECK(fitted_lines("\u00e9t\u00e9 \u00e9t\u00e9 \u00e9t\u00e9\n", 11) ==
          "\u00e9t\u00e9 \u00e9t\u00e9 \u00e9t\u00e9\n");
  }

  TEST_CASE("manual pages are what man reads, with a name that it finds") {
    const auto verbs = known_verbs();
    const std::string manual = page("stack", PageFormat::manual, verbs, 80);
    CHECK(manual.starts_with(".TH LULL-STACK 1 "));
    CHECK(contains(manual, ".SH NAME\nlull\\-stack \\- "));
  }

  TEST_CASE("the program shows pages, and refuses one that is none with the nearest") {
    const auto shown = lull::test::run_lull({"help", "stack"});
    CHECK(shown.status == 0);
    CHECK(contains(shown.output, "--keep auto|15%|300"));
    const auto refused = lull::test::run_lull({"help", "stak"});
    CHECK(refused.status == 2);
    CHECK(contains(refused.errors, "Did you mean stack?"));
    const auto plain = lull::test::run_lull({"help"});
    CHECK(plain.status == 0);
    for (const VerbHelp& verb : known_verbs()) CHECK(contains(plain.output, verb.summary));
  }
}
