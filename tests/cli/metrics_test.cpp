// Covers: run/run_metrics, run/metrics_outcome, run/metrics_table, run/metrics_plot
// Covers: run/metric_json, cli/metrics_text, quality/frame_table, quality/metrics_figures
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <sstream>

#include "support/bytes.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/text.h"

TEST_SUITE("cli/metrics") {
  namespace {

  using namespace lull::test;

  std::size_t dots_in(const std::string& svg) {
    std::size_t dots = 0;
    for (auto at = svg.find("<circle"); at != std::string::npos; at = svg.find("<circle", at + 1)) {
      ++dots;
    }
    return dots;
  }

  void write_text(const std::string& path, const std::string& text) {
    std::ofstream(path, std::ios::binary) << text;
  }

  nlohmann::json figures_of(const std::vector<std::string>& words) {
    std::vector<std::string> arguments = {"metrics", "--json", "--quiet"};
    arguments.insert(arguments.end(), words.begin(), words.end());
    const Run run = run_lull(arguments);
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    return nlohmann::json::parse(run.output);
  }

  const nlohmann::json& measure_named(const nlohmann::json& figures, const std::string& name) {
    for (const auto& measure : figures.at("measures")) {
      if (measure.at("measure") == name) return measure;
    }
    FAIL("no such measure");
    return figures;
  }

  // A truth of `rows` frames whose line of frame 5 is `line`.
  std::string truth_with(const std::string& line, int rows = 200) {
    std::string text = "frame,strehl_on_axis\n";
    for (int i = 0; i < rows; ++i) text += i == 5 ? line : std::to_string(i) + ",0.25\n";
    return text;
  }

  void check_truth_refused(const std::string& text, const std::string& says) {
    const TemporaryFolder folder;
    write_text(folder.file("t.csv"), text);
    check_refused({"metrics", sample("highland.mkv"), "--truth", folder.file("t.csv"), "--quiet"},
                  3, says);
  }

  }  // namespace

  TEST_CASE("rho against the truth is what SciPy makes of `lull rank`'s tables") {
    // bench/README.md: scipy.stats.spearmanr of lull rank's scores and the true Strehl ratios of
    // captures simulated outside of the project. 0.002 for other processors and compilers.
    const auto moon =
        figures_of({sample("highland.mkv"), "--truth", sample("highland.frames.csv")});
    CHECK(moon.at("metric") == "auto");
    CHECK(moon.at("metric_shares").at("fine").get<double>() > 0.5);
    const std::pair<const char*, double> known[] = {
        {"gradient", 0.961}, {"laplacian", 0.148}, {"modified-laplacian", 0.215},
        {"finest", 0.963},   {"fine", 0.962},      {"coarse", 0.946},
        {"auto", 0.961}};
    for (const auto& pair : known) {  // bindings cannot be captured
      const std::string name = pair.first;
      const double rho = pair.second;
      CAPTURE(name);
      CHECK(std::abs(measure_named(moon, name).at("spearman_rho").get<double>() - rho) < 0.002);
    }
    const auto planet =
        figures_of({sample("ringed_faint.ser"), "--truth", sample("ringed_faint.frames.csv")});
    CHECK(planet.at("metric") == "auto");
    CHECK(planet.at("metric_shares").at("coarse").get<double>() > 0.9);
    CHECK(std::abs(measure_named(planet, "coarse").at("spearman_rho").get<double>() - 0.809) <
          0.002);
    // The table goes on for one frame that the recording lost.
    CHECK(planet.at("notes").dump().find("304 frames and the capture has 303") !=
          std::string::npos);
  }

  TEST_CASE("measures in use neither follow brightness nor noise, and choose well") {
    const std::pair<const char*, const char*> samples[] = {{"highland.mkv", "fine"},
                                                           {"ringed_faint.ser", "coarse"}};
    for (const auto& pair : samples) {  // bindings cannot be captured
      const std::string file = pair.first;
      const std::string metric = pair.second;
      CAPTURE(file);
      const std::string truth = file.substr(0, file.find('.')) + ".frames.csv";
      const auto figures = figures_of({sample(file), "--truth", sample(truth)});
      const auto& measure = measure_named(figures, metric);
      // A score that were not divided by the square of the brightness would change by 36%.
      CHECK(measure.at("dimming_change").get<double>() < 0.02);
      CHECK(measure.at("reliability").get<double>() > 0.85);
      CHECK(std::abs(measure.at("rho_noise_drop").get<double>()) < 0.02);
      CHECK(measure.at("agreement").at(metric) == doctest::Approx(1));
      const auto& chance = figures.at("truth").at("loss_by_chance");
      for (std::size_t i = 0; i < chance.size(); ++i) {
        const double loss = measure.at("loss")[i].at("loss").get<double>();
        CHECK(loss >= 0);
        CHECK(loss < 0.5 * chance[i].at("loss").get<double>());
      }
    }
  }

  TEST_CASE("writes a table and a plot; the truth's pictures stand for its table") {
    const TemporaryFolder folder;
    const auto figures =
        figures_of({sample("highland.mkv"), "--truth", sample("highland.truth.fits"), "--csv",
                    folder.file("m.csv"), "--plot", folder.file("m.svg")});
    std::istringstream table(text_of(folder.file("m.csv")));
    int lines = 0;
    for (std::string line; std::getline(table, line); ++lines) {
      CHECK(std::count(line.begin(), line.end(), ',') == 20);
    }
    CHECK(lines == 8);
    const std::string svg = text_of(folder.file("m.svg"));
    CHECK(svg.find("modified-laplacian") != std::string::npos);
    CHECK(dots_in(svg) == figures.at("compared").get<std::size_t>());
  }

  TEST_CASE("every line fits into 80 columns") {
    for (const std::vector<std::string>& captures :
         {std::vector<std::string>{"highland.mkv", "--truth", "highland.frames.csv"},
          std::vector<std::string>{"highland.mkv", "granules.mkv"}}) {
      std::vector<std::string> words = {"metrics", "--quiet"};
      words.insert(words.end(), captures.begin(), captures.end());
      const Run run = run_lull(words, {.folder = LULL_SAMPLES});
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      std::istringstream lines(run.output);
      for (std::string line; std::getline(lines, line);) {
        CAPTURE(line);
        CHECK(line.size() <= 80);
      }
    }
  }

  TEST_CASE("without truth: agreement and reliability, and no figure that needs it") {
    const TemporaryFolder folder;
    const auto figures = figures_of({sample("highland.mkv"), "--plot", folder.file("m.svg")});
    const std::string svg = text_of(folder.file("m.svg"));
    CHECK(svg.find("in common, %") != std::string::npos);
    CHECK(svg.find("Strehl") == std::string::npos);
    CHECK(dots_in(svg) == figures.at("compared").get<std::size_t>());
    const auto& fine = measure_named(figures, "fine");
    CHECK_FALSE(fine.contains("spearman_rho"));
    CHECK_FALSE(figures.contains("truth"));
    CHECK(fine.at("agreement").at("coarse") ==
          measure_named(figures, "coarse").at("agreement").at("fine"));
    // Which of them follow the noise can be seen without the truth.
    CHECK(fine.at("reliability").get<double>() >
          measure_named(figures, "laplacian").at("reliability").get<double>());
  }

  TEST_CASE("figures other than speed are the same on any number of threads, cached or not") {
    const auto plain = [](const std::vector<std::string>& extra) {
      std::vector<std::string> words = {sample("highland.mkv"), "--truth",
                                        sample("highland.frames.csv")};
      words.insert(words.end(), extra.begin(), extra.end());
      auto figures = figures_of(words);
      for (auto& measure : figures.at("measures")) measure.erase("speed_mpx_per_s");
      return figures;
    };
    const auto expected = plain({"--threads", "1"});
    CHECK(plain({"--threads", "3", "--memory", "64M"}) == expected);
  }

  TEST_CASE("a truth that is not this capture's is refused with the reason") {
    check_truth_refused("", "empty");
    check_truth_refused("frame,strehl\n", "lists no frame");
    check_truth_refused("frame,time_s\n0,0.1\n", "no column 'strehl...'");
    check_truth_refused("time_s,strehl\n0,0.1\n", "no column 'frame'");
    check_truth_refused(truth_with("5,much\n"), "line 7: 'much'");
    check_truth_refused(truth_with("5,nan\n"), "line 7: 'nan'");
    check_truth_refused(truth_with("5,1.5\n"), "not a number from 0 to 1");
    check_truth_refused(truth_with("five,0.5\n"), "'five' is not the number of a frame");
    check_truth_refused(truth_with("5\n"), "line 7 is cut short");
    check_truth_refused(truth_with("999,0.5\n"), "frame 999 is out of range");
    check_truth_refused(truth_with("-1,0.5\n"), "frame -1 is out of range");
    check_truth_refused(truth_with("4,0.5\n"), "frame 4 has a row already");
    check_truth_refused(truth_with("5,0.5\n", 199), "the truth lists 199 frames");
    check_truth_refused(truth_with("5,0.5\n", 204), "the truth lists 204 frames");
    check_refused({"metrics", sample("highland.mkv"), "--truth", "nowhere.csv"}, 3, "nowhere.csv");
    check_refused({"metrics", sample("highland.mkv"), "--truth", LULL_SAMPLES}, 3,
                  "cannot be read");
  }

  TEST_CASE("a truth without differences has no ranking: figures are null, nothing breaks") {
    const TemporaryFolder folder;
    write_text(folder.file("t.csv"), truth_with("5,\r\n"));
    const auto figures = figures_of(
        {sample("highland.mkv"), "--truth", folder.file("t.csv"), "--plot", folder.file("p.svg")});
    CHECK(figures.at("compared") == 199);  // frame 5 has no ratio
    CHECK(measure_named(figures, "fine").at("spearman_rho").is_null());
    CHECK(figures.at("truth").at("column") == "strehl_on_axis");
  }

  TEST_CASE("inputs are never written over, and the results need two names") {
    const TemporaryFolder folder;
    write_text(folder.file("t.frames.csv"), truth_with("5,0.5\n"));
    const std::string before = text_of(folder.file("t.frames.csv"));
    for (const std::string truth : {"t.frames.csv", "t.truth.fits"}) {
      check_refused({"metrics", sample("highland.mkv"), "--truth", folder.file(truth), "--csv",
                     folder.file("t.frames.csv")},
                    2, "would be overwritten");
    }
    CHECK(text_of(folder.file("t.frames.csv")) == before);
    check_refused({"metrics", sample("highland.mkv"), "--csv", sample("highland.mkv")}, 2,
                  "would be overwritten");
    check_refused({"metrics", sample("highland.mkv"), "--truth", folder.file("t.frames.csv"),
                   "--csv", folder.file("a"), "--plot", folder.file("a")},
                  2, "cannot have the same name");
    check_refused({"metrics", sample("highland.mkv"), "--csv", folder.file("no/a.csv")}, 5,
                  "a.csv");
  }

  TEST_CASE("scores of one's own are compared as the built-in measures are") {
    const TemporaryFolder folder;
    const auto ranked = nlohmann::json::parse(
        run_lull({"rank", sample("highland.mkv"), "--metric", "fine", "--json", "--quiet"}).output);
    std::string scores = "score_mine,frame,score_none\n";
    for (const auto& frame : ranked.at("frames")) {
      scores += std::to_string(frame.at("sharpness").get<double>()) + "," +
                std::to_string(frame.at("frame").get<int>()) + ",1\n";
    }
    write_text(folder.file("s.csv"), scores);
    const auto figures =
        figures_of({sample("highland.mkv"), "--truth", sample("highland.frames.csv"), "--scores",
                    folder.file("s.csv"), "--csv", folder.file("m.csv")});
    const auto& fine = measure_named(figures, "fine");
    const auto& mine = measure_named(figures, "score_mine");
    CHECK(mine.at("spearman_rho").get<double>() ==
          doctest::Approx(fine.at("spearman_rho").get<double>()).epsilon(1e-3));
    CHECK(mine.at("agreement").at("fine").get<double>() > 0.999);
    CHECK(mine.at("spearman_rho_95")[0] < mine.at("spearman_rho"));
    CHECK(mine.at("spearman_rho_95")[1] > mine.at("spearman_rho"));
    CHECK(mine.at("reliability").is_null());
    CHECK(measure_named(figures, "score_none").at("spearman_rho").is_null());
    const std::string table = text_of(folder.file("m.csv"));
    CHECK(std::count(table.begin(), table.end(), '\n') == 10);
    CHECK(contains(table, ",score_mine,"));
    write_text(folder.file("bad.csv"), "frame,sharpness\n0,1\n");
    check_refused({"metrics", sample("highland.mkv"), "--scores", folder.file("bad.csv")}, 3,
                  "no column 'score...'");
    write_text(folder.file("short.csv"), "frame,score\n0,1\n1,2\n");
    check_refused({"metrics", sample("highland.mkv"), "--scores", folder.file("short.csv")}, 3,
                  "the table of scores lists 2 frames");
  }

  TEST_CASE("several captures stand in one table, each as it is alone") {
    const TemporaryFolder folder;
    const std::vector<std::string> one = {sample("highland.mkv"), "--truth",
                                          sample("highland.frames.csv")};
    const auto both =
        figures_of({sample("highland.mkv"), sample("ringed_faint.ser"), "--truth",
                    sample("highland.frames.csv"), "--truth", sample("ringed_faint.frames.csv"),
                    "--csv", folder.file("m.csv"), "--plot", folder.file("m.svg")});
    REQUIRE(both.at("captures").size() == 2);
    auto first = both.at("captures")[0];
    auto alone = figures_of(one);
    for (auto* figures : {&first, &alone}) {
      for (auto& measure : figures->at("measures")) measure.erase("speed_mpx_per_s");
    }
    CHECK(first == alone);
    const std::string table = text_of(folder.file("m.csv"));
    CHECK(std::count(table.begin(), table.end(), '\n') == 15);
    CHECK(contains(text_of(folder.file("m.svg")), "ringed_faint.ser: "));
    check_refused({"metrics", sample("highland.mkv"), sample("ringed_faint.ser"), "--truth",
                   sample("highland.frames.csv")},
                  2, "--truth is given 1 time, and there are 2 captures");
    // A part of a capture is compared with the rows of its frames.
    const auto part = figures_of({sample("highland.mkv"), "--truth", sample("highland.frames.csv"),
                                  "--frames", "50-149", "--exclude", "60"});
    CHECK(part.at("compared").get<int>() == 99);
  }

  TEST_CASE("fewer than three frames to compare: nothing usable, and nothing is left") {
    const TemporaryFolder folder;
    std::string truth = "frame,strehl\n";
    for (int i = 0; i < 200; ++i) truth += std::to_string(i) + (i < 2 ? ",0.5\n" : ",\n");
    write_text(folder.file("t.csv"), truth);
    check_refused({"metrics", sample("highland.mkv"), "--truth", folder.file("t.csv"), "--csv",
                   folder.file("m.csv"), "--quiet"},
                  4, "2 of the 200 usable frames can be compared");
    CHECK_FALSE(std::filesystem::exists(folder.file("m.csv")));
  }
}
