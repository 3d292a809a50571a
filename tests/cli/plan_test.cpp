// Covers: cli/plan_text, run/plan_json, run/plan_plot
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <sstream>

#include "support/bytes.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"
#include "support/text.h"

TEST_SUITE("cli/plan") {
  namespace {

  using namespace lull::test;

  const std::vector<std::string> kWhere = {"--site", "46.5,8.25,1650", "--date", "2026-11-30"};

  Run plan(std::vector<std::string> words) {
    words.insert(words.begin(), "plan");
    words.insert(words.end(), kWhere.begin(), kWhere.end());
    return run_lull(words);
  }

  nlohmann::json figures(std::vector<std::string> words) {
    words.emplace_back("--json");
    const Run run = plan(std::move(words));
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    return nlohmann::json::parse(run.output);
  }

  std::size_t widest_line(const std::string& text) {
    std::size_t widest = 0;
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) widest = std::max(widest, line.size());
    return widest;
  }

  }  // namespace

  TEST_CASE("a target fits on one screen of 80 columns, with its optics, detail and local times") {
    for (const char* target :
         {"sun", "moon", "mercury", "venus", "mars", "jupiter", "saturn", "uranus", "neptune"}) {
      const Run run = plan({target, "--zone", "+01:00", "--aperture", "250", "--focal-length",
                            "3750", "--pixel", "3.75", "--storm", "jupiter:oval:2:62"});
      CAPTURE(run.text());
      CHECK(run.status == 0);
      CHECK(std::count(run.output.begin(), run.output.end(), '\n') <= 26);
      CHECK(widest_line(run.output) <= 80);
      CHECK(contains(run.output, "rises "));
      CHECK(contains(run.output, "* common practice, no source"));
    }
  }

  // By PyEphem for this site and night (see tests/sky/risings.py): Jupiter rises at 21:44, passes
  // the meridian at 04:44.
  TEST_CASE("local times stand beside UTC, by zone and season") {
    const Run winter = plan({"jupiter", "--zone", "Europe/Zurich"});
    CHECK(contains(winter.output, "rises 21:44 (22:44), highest 04:44 (05:44)"));
    const Run far = plan({"jupiter", "--zone", "Asia/Kathmandu"});
    CHECK(contains(far.output, "rises 21:44 (03:29)"));
    CHECK(contains(plan({"jupiter"}).output, "rises 21:44, highest 04:44"));
  }

  TEST_CASE("tonight is a line for each target") {
    const Run run = plan({"--tonight"});
    CHECK(run.status == 0);
    for (const char* target : {"\nsun ", "\nmoon ", "\nmercury ", "\nneptune "})
      CHECK(contains(run.output, target));
    CHECK(contains(on_one_line(run.output), "CAUTION: The Sun"));
    CHECK(widest_line(run.output) <= 80);
    CHECK(figures({"--tonight"}).at("targets").size() == 9);
  }

  TEST_CASE("JSON holds what the screen shows") {
    const auto all = figures({"saturn", "--aperture", "250", "--focal-length", "3750", "--pixel",
                              "3.75", "--band", "narrow:640-660"});
    const auto& saturn = all.at("targets").at(0);
    CHECK(all.at("date") == "2026-11-30");
    CHECK(all.at("caution").is_null());
    CHECK(saturn.at("face").at("rings").at("lit") == true);
    CHECK(saturn.at("dispersion").size() == 1);
    CHECK(saturn.at("recording").at("exposures").at(0).at("filter").at("name") == "narrow");
    CHECK(std::abs(saturn.at("recording").at("diameter_px").get<double>() *
                       saturn.at("recording").at("arcsec_per_px").get<double>() -
                   saturn.at("aspect").at("equatorial_arcsec").get<double>()) < 1e-6);
    CHECK(figures({"venus"}).at("targets").at(0).at("face").at("series_minutes").is_null());
    CHECK(figures({"moon"}).at("targets").at(0).at("recording").is_null());
  }

  TEST_CASE("the plot is well-formed, names its lines, and is not replaced unasked") {
    const TemporaryFolder folder;
    const std::string svg = folder.file("plan.svg");
    const Run run = plan({"jupiter", "--storm", "jupiter:oval <2>:2:62", "--plot", svg});
    CHECK(run.status == 0);
    CHECK(contains(run.output, "wrote "));
    CHECK(run_program({"xmllint", "--noout", svg}).status == 0);
    const std::string text = text_of(svg);
    for (const char* words : {"Altitude, 2026-11-30", "The Moon", "System II", "oval &lt;2&gt;",
                              "near infrared", "hours of UTC from 2026-12-01 00:00"})
      CHECK(contains(text, words));
    CHECK(plan({"jupiter", "--plot", svg}).status == 5);
    CHECK(plan({"--tonight", "--plot", svg, "--overwrite"}).status == 0);
    CHECK(contains(text_of(svg), "Neptune"));
    CHECK(plan({"sun", "--plot", folder.file("sun.svg")}).status == 0);
    CHECK(contains(text_of(folder.file("sun.svg")), "hours of UTC from 2026-11-30 00:00"));
  }

  TEST_CASE("panels are a table, figures and a map of numbers in their order") {
    const TemporaryFolder folder;
    const std::string svg = folder.file("moon.svg");
    const std::vector<std::string> words = {"moon",    "--panels", "--aperture",     "250",
                                            "--pixel", "3.75",     "--focal-length", "1250",
                                            "--plot",  svg,        "--sensor",       "1936x1216"};
    const Run run = plan(words);
    CHECK(contains(run.output, "panels      4 for the lit part, 1198 x 752 arcsec, 25% overlap *"));
    CHECK(contains(run.output, "  terminator\n"));
    CHECK(widest_line(run.output.substr(0, run.output.find("wrote "))) <= 80);
    CHECK(run_program({"xmllint", "--noout", svg}).status == 0);
    for (const char* text : {"Panels, north at the top", "west of the middle", ">4</text>"})
      CHECK(contains(text_of(svg), text));
    std::vector<std::string> more = words;
    more.insert(more.end(), {"--overwrite", "--overlap", "10"});
    const auto panels = figures(more).at("targets").at(0).at("panels");
    CHECK(panels.at("overlap_percent") == 10);
    CHECK(panels.at("in_order").at(0).at("number") == 1);
    CHECK(panels.at("in_order").at(0).at("on_terminator") == true);
    CHECK(figures({"moon"}).at("targets").at(0).at("panels").is_null());
    check_refused({"plan", "moon", "--site", "1,2", "--panels"}, 2, "--sensor WIDTHxHEIGHT");
    check_refused({"plan", "moon", "--site", "1,2", "--overlap", "20"}, 2, "--panels");
    check_refused({"plan", "moon", "--site", "1,2", "--sensor", "1936"}, 2, "such as 1936x1216");
  }

  TEST_CASE("what cannot be planned is refused in words") {
    check_refused({"plan"}, 2, "name a target");
    check_refused({"plan", "mars"}, 2, "--site LAT,LON is missing");
    check_refused({"plan", "pluto", "--site", "1,2"}, 2, "neptune");
    check_refused({"plan", "mars", "--site", "91,2"}, 2, "-90 to 90");
    check_refused({"plan", "mars", "--site", "1,2", "--date", "1066-10-14"}, 2, "1950 to 2100");
    check_refused({"plan", "mars", "--site", "1,2", "--zone", "Mars/Base"}, 2, "--zone");
    check_refused({"plan", "mars", "--site", "1,2", "--aperture", "200"}, 2, "--focal-length");
    check_refused({"plan", "mars", "--site", "1,2", "--plot", "/no/such/folder/a.svg"}, 5, "a.svg");
  }
}
