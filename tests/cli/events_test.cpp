// Covers: cli/progress_line, cli/cli, run/run_share
#include <doctest/doctest.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <sstream>

#include "run/run_share.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"

namespace {

using namespace lull::test;
using nlohmann::json;

std::vector<json> events_of(const Run& run) {
  std::vector<json> events;
  std::istringstream lines(run.errors);
  for (std::string line; std::getline(lines, line);) events.push_back(json::parse(line));
  return events;
}

// Every stage that reports is one of the plan, or the share would stand still.
void check_progress(const std::vector<std::string>& words,
                    const std::vector<lull::run::Stage>& stages) {
  CAPTURE(words[0]);
  const Run run = run_lull(words);
  CAPTURE(run.errors);
  REQUIRE(run.status == 0);
  CHECK(json::parse(run.output).is_object());
  double before = 0;
  for (const json& event : events_of(run)) {
    CHECK(event.at("event") == "progress");
    const std::string stage = event.at("stage");
    CAPTURE(stage);
    CHECK(std::any_of(stages.begin(), stages.end(),
                      [&](const lull::run::Stage& one) { return one.name == stage; }));
    CHECK(event.at("share").get<double>() >= before);
    CHECK(event.at("share").get<double>() <= 1);
    before = event.at("share");
    if (!event.at("left_s").is_null()) CHECK(event.at("left_s").get<double>() >= 0);
  }
  CHECK(before > 0);
}

}  // namespace

TEST_SUITE("cli/events") {
  TEST_CASE("with --json every line on standard error is an object, and the share only rises") {
    const TemporaryFolder folder;
    lull::run::StackRequest stack;
    stack.input.captures = {"x"};
    stack.output = "x.tif";
    check_progress({"stack", sample("belts_mosaic.nut"), "-o", folder.file("a.tif"), "--json",
                    "--keep", "30%"},
                   stages_of(stack));
    lull::run::RankRequest rank;
    rank.best_first = "x.mkv";
    check_progress({"rank", sample("granules.mkv"), "--json", "--best-first", folder.file("b.mkv")},
                   stages_of(rank));
    check_progress({"inspect", sample("granules.mkv"), "--json"},
                   stages_of(lull::run::InspectRequest{}));
    check_progress({"finish", folder.file("a.linear.fits"), "-o", folder.file("f.tif"), "--json"},
                   stages_of(lull::run::FinishRequest{}));
    const std::string linear = folder.file("a.linear.fits");
    check_progress({"merge", "--red", linear, "--green", linear, "--blue", linear, "-o",
                    folder.file("m.tif"), "--json"},
                   stages_of(lull::run::MergeRequest{}));
    check_progress({"animate", linear, linear, "-o", folder.file("m.gif"), "--json"},
                   stages_of(lull::run::AnimateRequest{}));
    check_progress({"master", sample("granules_dark.mkv"), "-o", folder.file("d.fits"), "--kind",
                    "dark", "--json"},
                   stages_of(lull::run::MasterRequest{}));
    lull::run::MetricsRequest metrics;
    metrics.input.captures = {"x"};
    check_progress({"metrics", sample("granules.mkv"), "--json"}, stages_of(metrics));
  }

  TEST_CASE("the frames to come are known where the header counts none") {
    // Matroska: by the duration and the rate, 200 frames.
    const Run run = run_lull({"rank", sample("highland.mkv"), "--json", "--threads", "1"});
    REQUIRE(run.status == 0);
    int seen = 0;
    for (const json& event : events_of(run)) {
      if (event.at("stage") != "ranking") continue;
      CHECK(event.at("total") == 200);
      ++seen;
    }
    CHECK(seen > 0);
  }

  TEST_CASE("errors are objects too, with the status that the program ends with") {
    for (const auto& words : std::vector<std::vector<std::string>>{
             {"stack", "none.ser", "--json"},
             {"rank", sample("granules.mkv"), "--json", "--metric", "best"},
             {"rank", "--json", "--wrong"},
             {"inspect", "--json", "\xff.ser"}}) {
      const Run run = run_lull(words);
      CAPTURE(run.errors);
      const auto events = events_of(run);
      REQUIRE(events.size() == 1);
      CHECK(run.status != 0);
      CHECK(events[0].at("event") == "error");
      CHECK(events[0].at("status") == run.status);
      CHECK_FALSE(events[0].at("message").get<std::string>().empty());
    }
  }
}
