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

  std::size_t columns_of(const std::string& utf8) {
    return static_cast<std::size_t>(std::count_if(utf8.begin(), utf8.end(), [](char c) {
      return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
    }));
  }

  // The name, and the values that have a hyphen, at which a line might be broken.
  std::vector<std::string> words_of(const lull::run::OptionFacts& option) {
    std::vector<std::string> out;
    if (!option.by_place()) out.push_back(option.name);
    std::istringstream values(option.value);
    for (std::string value; std::getline(values, value, '|');) {
      if (contains(value, "-")) out.push_back(value);
    }
    return out;
  }

  // Without line ends and the spaces that set lines in.
  std::string joined_lines(const std::string& text) {
    std::string out;
    bool begins = false;
    for (const char c : text) {
      if (c == '\n')
        begins = true;
      else if (c != ' ' || !begins) {
        begins = false;
        out += c;
      }
    }
    return out;
  }

  std::size_t count_of(const std::string& text, const std::string& word) {
    std::size_t count = 0;
    for (std::size_t at = text.find(word); at != std::string::npos; at = text.find(word, at + 1)) {
      ++count;
    }
    return count;
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

  TEST_CASE("every page fits into 80 columns, its examples and tables too") {
    const auto verbs = known_verbs();
    for (const std::string& name : page_names()) {
      std::istringstream lines(page(name, PageFormat::text, verbs, 80));
      for (std::string line; std::getline(lines, line);) {
        CAPTURE(name);
        CAPTURE(line);
        CHECK(columns_of(line) <= 80);
        CHECK_FALSE(contains(line, "| --- |"));
      }
    }
    CHECK(contains(page("rank", PageFormat::text, verbs, 80),
                   "\n    lull rank samples/highland.mkv --csv frames.csv \\\n"
                   "      --best-first best.mkv --count 50\n"));
    CHECK(contains(page("results", PageFormat::text, verbs, 80), "\n  - moon.html: the report\n"));
  }

  // A terminal breaks nothing else: man is held to the same in tests/package.
  TEST_CASE("names of options and their values are never broken, at any width") {
    const auto verbs = known_verbs();
    for (int columns = 40; columns <= 120; ++columns) {
      for (const VerbHelp& verb : verbs) {
        const std::string shown = page(verb.name, PageFormat::text, verbs, columns);
        const std::string listed = help_text(verb, columns);
        for (const auto& option : verb.options) {
          for (const std::string& word : words_of(option)) {
            CAPTURE(columns);
            CAPTURE(word);
            CHECK(count_of(shown, word) == count_of(joined_lines(shown), word));
            CHECK(count_of(listed, word) == count_of(joined_lines(listed), word));
          }
        }
      }
    }
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
    CHECK(fitted_lines("frames of 320 x 240 px\n", 20) == "frames of\n  320 x 240 px\n");
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
