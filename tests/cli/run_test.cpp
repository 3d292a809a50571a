// Covers: run/run_rank, run/rank_outcome, run/rank_table
// Covers: run/enlargement, cli/rank_text, cli/stack_text, files/results
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>
#include <numeric>
#include <sstream>

#include "capture/capture.h"
#include "files/fits_parts.h"
#include "files/picture_file.h"
#include "support/bytes.h"
#include "support/frames.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

namespace {

using namespace lull::test;

// Rows of a CSV file by column name.
std::vector<std::map<std::string, std::string>> table(const std::string& path) {
  std::ifstream file(path);
  REQUIRE(file.good());
  std::vector<std::string> names;
  std::vector<std::map<std::string, std::string>> rows;
  for (std::string line; std::getline(file, line);) {
    if (!line.empty() && line.back() == '\r') line.pop_back();
    std::vector<std::string> fields;
    std::stringstream stream(line);
    for (std::string field; std::getline(stream, field, ',');) fields.push_back(field);
    if (names.empty()) {
      names = fields;
      continue;
    }
    fields.resize(names.size());
    auto& row = rows.emplace_back();
    for (std::size_t i = 0; i < names.size(); ++i) row[names[i]] = fields[i];
  }
  return rows;
}

std::vector<double> ranks(const std::vector<double>& values) {
  std::vector<std::size_t> order(values.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return values[a] < values[b]; });
  std::vector<double> out(values.size());
  for (std::size_t i = 0; i < order.size(); ++i) out[order[i]] = static_cast<double>(i);
  return out;
}

// Spearman's rank correlation of distinct values.
double spearman(const std::vector<double>& a, const std::vector<double>& b) {
  const auto ra = ranks(a);
  const auto rb = ranks(b);
  double squares = 0;
  for (std::size_t i = 0; i < ra.size(); ++i) squares += (ra[i] - rb[i]) * (ra[i] - rb[i]);
  const auto n = static_cast<double>(ra.size());
  return 1 - 6 * squares / (n * (n * n - 1));
}

double rank_agreement(const std::string& capture, const std::string& truth_csv) {
  const TemporaryFolder folder;
  const Run run = run_lull({"rank", sample(capture), "--csv", folder.file("r.csv"), "--quiet"});
  REQUIRE(run.status == 0);
  const auto rows = table(folder.file("r.csv"));
  const auto truth = table(sample(truth_csv));
  std::vector<double> ours;
  std::vector<double> strehl;
  for (std::size_t i = 0; i < std::min(rows.size(), truth.size()); ++i) {
    if (!rows[i].at("flags").empty() || !truth[i].at("fault").empty()) continue;
    ours.push_back(std::stod(rows[i].at("sharpness")));
    strehl.push_back(std::stod(truth[i].at("strehl_tilt_removed")));
  }
  REQUIRE(ours.size() > 150);
  return spearman(ours, strehl);
}

Bytes stacked(const std::vector<std::string>& extra, const RunOptions& options = {}) {
  const TemporaryFolder folder;
  std::vector<std::string> arguments = {
      "stack", sample("highland.mkv"), "-o", folder.file("o.fits"), "--keep", "10%", "--quiet"};
  arguments.insert(arguments.end(), extra.begin(), extra.end());
  const Run run = run_lull(arguments, options);
  CAPTURE(run.errors);
  REQUIRE(run.status == 0);
  return read_file(folder.file("o.fits"));
}

}  // namespace

TEST_SUITE("cli/rank") {
  TEST_CASE("ranks as the true Strehl ratio does, at least as well as smoothed Laplacian scripts") {
    // Captures simulated outside of the project, with the Strehl ratio of every frame; the bounds
    // are what the best of several hand-made scripts reaches there.
    CHECK(rank_agreement("highland.mkv", "highland.frames.csv") >= 0.957);
    CHECK(rank_agreement("ringed_faint.ser", "ringed_faint.frames.csv") >= 0.759);
  }

  TEST_CASE("the table has its columns, and faults of the capture are flagged") {
    const TemporaryFolder folder;
    const Run run =
        run_lull({"rank", sample("ringed_faint.ser"), "--csv", folder.file("r.csv"), "--json"});
    REQUIRE(run.status == 0);
    std::ifstream file(folder.file("r.csv"));
    std::string header;
    std::getline(file, header);
    CHECK(header == "frame,time_s,sharpness,brightness,shift_x_px,shift_y_px,flags\r");
    const auto rows = table(folder.file("r.csv"));
    const auto truth = table(sample("ringed_faint.frames.csv"));
    for (std::size_t i = 0; i < rows.size(); ++i) {
      CAPTURE(i);
      const std::string& fault = truth[i].at("fault");
      const std::string& flag = rows[i].at("flags");
      if (fault == "doubled") CHECK(flag == "doubled");
      if (fault == "cut short") CHECK(flag == "damaged");
      if (fault == "black") CHECK_FALSE(flag.empty());
    }
    const auto json = nlohmann::json::parse(run.output);
    CHECK(json.at("frames").size() == rows.size());
    CHECK(json.at("best_first").size() == json.at("usable").get<std::size_t>());
  }

  TEST_CASE("the video holds the best frames, best first, to the bit, calibrated or not") {
    for (const bool dark : {false, true}) {
      CAPTURE(dark);
      const TemporaryFolder folder;
      std::vector<std::string> words = {
          "rank",  sample("highland.mkv"), "--best-first", folder.file("s.mkv"), "--count", "7",
          "--json"};
      // The capture itself as its dark: what is left is wrong, but it is not what was recorded.
      if (dark) words.insert(words.end(), {"--dark", sample("highland.mkv")});
      const Run run = run_lull(words);
      REQUIRE(run.status == 0);
      const auto json = nlohmann::json::parse(run.output);
      CHECK((json.at("notes").dump().find("the frames as recorded") != std::string::npos) == dark);
      const auto& order = json.at("best_first");
      const auto source = lull::capture::Capture::open(sample("highland.mkv"));
      const auto sorted = lull::capture::Capture::open(folder.file("s.mkv"));
      for (std::size_t i = 0; i < 7; ++i) {
        const auto frame = sorted->next();
        REQUIRE(frame.ok());
        const auto original = source->at(order[i].get<std::int64_t>());
        REQUIRE(original.ok());
        CHECK(bytes_in(frame.value()) == bytes_in(original.value()));
      }
      CHECK_FALSE(sorted->next().ok());
    }
  }
}

TEST_SUITE("cli/stack") {
  TEST_CASE("fusion by frequency: by default, by name, or not at all") {
    const TemporaryFolder folder;
    const std::string out = folder.file("o.png");
    // PNG, whose header does not record the fusion.
    const auto pixels = [&](const char* fusion, const char* capture = "highland.mkv") {
      const Run run = run_lull({"stack", sample(capture), "-o", out, "--keep", "10%", "--finish",
                                "none", "--report", "none", "--overwrite", "--fusion", fusion});
      REQUIRE(run.status == 0);
      return read_file(out);
    };
    const Bytes usual = pixels("auto");
    CHECK(pixels("frequency") == usual);
    CHECK(pixels("selection") != usual);
    CHECK(pixels("frequency", "belts_mosaic.nut") != pixels("selection", "belts_mosaic.nut"));
    const Run unknown = run_lull({"stack", sample("highland.mkv"), "-o", out, "--fusion", "best"});
    CHECK(unknown.status == 2);
    CHECK(unknown.errors.find("auto, frequency, selection") != std::string::npos);
  }

  TEST_CASE("an enlarged stack: same bytes on any machine, from its recipe, and from lull finish") {
    const TemporaryFolder folder;
    const std::string out = folder.file("o.png");
    const auto stack_with = [&](const std::vector<std::string>& more) {
      std::vector<std::string> words = {"stack",  sample("belts_mosaic.nut"),
                                        "-o",     out,
                                        "--json", "--scale",
                                        "1.5",    "--pixfrac",
                                        "0.8",    "--keep",
                                        "20",     "--overwrite"};
      words.insert(words.end(), more.begin(), more.end());
      const Run run = run_lull(words);
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      return nlohmann::json::parse(run.output);
    };
    const auto figures = stack_with({"--threads", "1"});
    const Bytes picture = read_file(out);
    const Bytes linear = read_file(folder.file("o.linear.fits"));
    static_cast<void>(stack_with({"--threads", "5", "--memory", "128M"}));
    CHECK(read_file(out) == picture);
    CHECK(read_file(folder.file("o.linear.fits")) == linear);
    const auto& enlarged = figures.at("enlarged");
    CHECK(enlarged.at("scale") == 1.5);
    CHECK(enlarged.at("pixfrac") == 0.8);
    // Fruchter & Hook 2002: r = 1.2.
    CHECK(enlarged.at("noise_correlation").get<double>() == doctest::Approx(1.66154).epsilon(1e-5));
    CHECK(figures.at("fusion") == "selection");
    const Run both = run_lull({"stack", "--recipe", folder.file("o.recipe.json"), "-o",
                               folder.file("never.png"), "--keep", "15%"});
    CHECK(both.status == 2);
    CHECK(both.errors.find("--keep and --recipe") != std::string::npos);
    CHECK_FALSE(std::filesystem::exists(folder.file("never.png")));
    const Run again = run_lull({"stack", "--recipe", folder.file("o.recipe.json"), "-o",
                                folder.file("again.png"), "--quiet"});
    REQUIRE(again.status == 0);
    CHECK(read_file(folder.file("again.png")) == picture);
    const Run finish =
        run_lull({"finish", folder.file("o.linear.fits"), "-o", folder.file("f.png"), "--quiet"});
    REQUIRE(finish.status == 0);
    CHECK(read_file(folder.file("f.png")) == picture);
    const auto weight = lull::files::read_fits_image(folder.file("o.linear.fits"), "WEIGHT");
    REQUIRE(weight);
    const auto noise = lull::files::read_fits_image(folder.file("o.linear.fits"), "NOISE");
    REQUIRE(noise);
    CHECK(weight->channels.size() == 3);
    CHECK(weight->size() == noise->size());
  }

  TEST_CASE("the scale of an enlarged picture is known wherever lengths are reported") {
    const TemporaryFolder folder;
    const auto figures = [&](const char* scale) {
      const Run run =
          run_lull({"stack", sample("highland.mkv"), "-o", folder.file("o.png"), "--keep", "30%",
                    "--fusion", "selection", "--json", "--scale", scale, "--aperture", "180",
                    "--focal-length", "2700", "--pixel", "2.75", "--overwrite"});
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      return nlohmann::json::parse(run.output);
    };
    const auto once = figures("1");
    const auto twice = figures("2");
    CHECK(once.at("enlarged").is_null());
    CHECK(twice.at("arcsec_per_px").get<double>() ==
          doctest::Approx(once.at("arcsec_per_px").get<double>() / 2));
    // The same resolution on the sky from twice the pixels; other sums, so not quite the same.
    CHECK(twice.at("resolution_px").get<double>() ==
          doctest::Approx(2 * once.at("resolution_px").get<double>()).epsilon(0.08));
    CHECK(twice.at("resolution_arcsec").get<double>() ==
          doctest::Approx(once.at("resolution_arcsec").get<double>()).epsilon(0.08));
    // What is measured on the frames stays in their pixels.
    CHECK(twice.at("local_shift_rms_px") == once.at("local_shift_rms_px"));
    CHECK(twice.at("crop") == once.at("crop"));
    CHECK(twice.at("keep_steps") == once.at("keep_steps"));
  }

  TEST_CASE("sizes that cannot be made are refused before any work") {
    const TemporaryFolder folder;
    const auto refused = [&](const std::vector<std::string>& words, const std::string& reason) {
      std::vector<std::string> all = {"stack", sample("highland.mkv"), "-o", folder.file("o.png")};
      all.insert(all.end(), words.begin(), words.end());
      const Run run = run_lull(all);
      CAPTURE(run.errors);
      CHECK(run.status == 2);
      CHECK(run.errors.find(reason) != std::string::npos);
      CHECK(!std::filesystem::exists(folder.file("o.png")));
    };
    refused({"--scale", "7"}, "from 1 to 3");
    refused({"--scale", "0.5"}, "from 1 to 3");
    refused({"--scale", "2", "--pixfrac", "0"}, "from 0.1 to 1");
    refused({"--scale", "2", "--pixfrac", "1.2"}, "from 0.1 to 1");
    refused({"--scale", "2", "--pixfrac", "small"}, "from 0.1 to 1");
    refused({"--pixfrac", "0.5"}, "add --scale");
    refused({"--scale", "2", "--fusion", "frequency"}, "--scale 2");
    const std::string large = folder.file("large.avi");
    write_video(large, {.width_px = 2400, .height_px = 1600},
                std::vector<Bytes>(2, Bytes(std::size_t{2400} * 1600)));
    const Run run =
        run_lull({"stack", large, "-o", folder.file("o.png"), "--scale", "3", "--memory", "1G"});
    CHECK(run.status == 5);
    CHECK(run.errors.find("2400 x 1600 px need") != std::string::npos);
    CHECK(run.errors.find("use a smaller --scale") != std::string::npos);
  }

  TEST_CASE("a drop too small for so few frames leaves no hole, and the summary reports it") {
    const TemporaryFolder folder;
    const Run run =
        run_lull({"stack", sample("highland.mkv"), "-o", folder.file("o.fits"), "--keep", "4",
                  "--scale", "3", "--pixfrac", "0.2", "--finish", "none", "--report", "none"});
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    CHECK(run.output.find("no drop fell") != std::string::npos);
    const auto picture = lull::files::read_picture(folder.file("o.fits")).picture;
    float lowest = 1;
    for (int y = 0; y < picture.size().height_px; ++y) {
      const float* row = picture.channels[0].row(y);
      lowest = std::min(lowest, *std::min_element(row, row + picture.size().width_px));
    }
    CHECK(lowest > 0.005F);  // the ground is lit everywhere
  }

  TEST_CASE("frames of 640 x 480 px are fused in the same way however little memory is given") {
    const TemporaryFolder folder;
    std::vector<Bytes> pictures;
    for (int i = 0; i < 12; ++i) {
      Bytes picture;
      for (int y = 0; y < 480; ++y) {
        for (int x = 0; x < 640; ++x) {
          const double light =
              120 + 50 * std::sin((x + i % 3) / 5.0 + y / 31.0) * std::cos(y / 7.0);
          picture.push_back(static_cast<std::byte>(static_cast<int>(light)));
        }
      }
      pictures.push_back(std::move(picture));
    }
    const std::string capture = folder.file("wide.avi");
    write_video(capture, {.width_px = 640, .height_px = 480}, pictures);
    std::vector<Bytes> results;
    for (const char* memory : {"96M", "1G"}) {
      const Run run = run_lull({"stack", capture, "-o", folder.file("o.fits"), "--finish", "none",
                                "--memory", memory, "--json", "--quiet", "--overwrite"});
      REQUIRE(run.status == 0);
      CHECK(nlohmann::json::parse(run.output).at("fusion") == "frequency");
      results.push_back(read_file(folder.file("o.fits")));
    }
    CHECK(results[0] == results[1]);
  }

  TEST_CASE("same bytes on any number of threads, instruction set and memory") {
    const Bytes expected = stacked({"--threads", "1"});
    // Each run differs from the first in several ways at once: any of them would show.
    const auto on = [](const char* level, const std::vector<std::string>& words) {
      RunOptions options;
      options.environment = {std::string("LULL_CPU=") + level};
      return stacked(words, options);
    };
    CHECK(on("baseline", {"--threads", "2"}) == expected);
    CHECK(on("avx2", {"--threads", "7"}) == expected);
    CHECK(on("avx512", {"--memory", "128M"}) == expected);
  }

  TEST_CASE("writes picture, linear stack, recipe and report, and the recipe repeats the run") {
    const TemporaryFolder folder;
    const Run run = run_lull(
        {"stack", sample("highland.mkv"), "-o", folder.file("a.tif"), "--keep", "25%", "--json"});
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    const auto figures = nlohmann::json::parse(run.output);
    CHECK(figures.at("kept") == 50);
    CHECK(figures.at("usable").get<int>() >= 195);
    CHECK(figures.at("resolution_px").get<double>() < 5);
    for (const char* name : {"a.tif", "a.linear.fits", "a.recipe.json", "a.html"}) {
      CHECK(std::filesystem::exists(folder.file(name)));
    }
    const auto count = std::distance(std::filesystem::directory_iterator(folder.path()),
                                     std::filesystem::directory_iterator());
    CHECK(count == 4);
    REQUIRE(run_lull({"stack", "-o", folder.file("b.tif"), "--recipe", folder.file("a.recipe.json"),
                      "--quiet"})
                .status == 0);
    CHECK(read_file(folder.file("a.tif")) == read_file(folder.file("b.tif")));
    CHECK(read_file(folder.file("a.linear.fits")) == read_file(folder.file("b.linear.fits")));
  }

  TEST_CASE(
      "--finish none leaves no second picture; keep auto keeps what promises the least error") {
    const TemporaryFolder folder;
    const Run run = run_lull({"stack", sample("ringed_faint.ser"), "-o", folder.file("a.png"),
                              "--finish", "none", "--json"});
    REQUIRE(run.status == 0);
    CHECK_FALSE(std::filesystem::exists(folder.file("a.linear.fits")));
    const auto figures = nlohmann::json::parse(run.output);
    double least = 1;
    int kept = 0;
    for (const auto& step : figures.at("keep_steps")) {
      const double error = std::hypot(step.at("expected_noise_error").get<double>(),
                                      step.at("expected_blur_error").get<double>());
      if (error >= least) continue;
      least = error;
      kept = step.at("frames").get<int>();
    }
    CHECK(figures.at("kept").get<int>() == kept);
  }
}

TEST_SUITE("cli/readme") {
  TEST_CASE("the README's examples on samples run as they stand") {
    std::ifstream readme(std::string(LULL_TESTS) + "/../README.md");
    REQUIRE(readme.good());
    const TemporaryFolder folder;
    std::filesystem::create_directory_symlink(LULL_SAMPLES, folder.file("samples"));
    int examples = 0;
    for (std::string line; std::getline(readme, line);) {
      if (line.rfind("    lull ", 0) != 0 || line.find("samples/") == std::string::npos) continue;
      std::stringstream words(line.substr(9));
      std::vector<std::string> arguments;
      for (std::string word; words >> word;) arguments.push_back(word);
      RunOptions options;
      options.folder = folder.path();
      const Run run = run_lull(arguments, options);
      CAPTURE(line);
      CAPTURE(run.errors);
      CHECK(run.status == 0);
      ++examples;
    }
    CHECK(examples >= 4);
  }

  TEST_CASE("every option that the README and the pages name exists") {
    std::string help;
    for (const char* command :
         {"inspect", "rank", "metrics", "master", "stack", "finish", "merge", "mosaic", "animate",
          "derotate", "plan", "night", "profile", "desk", "help"}) {
      help += run_lull({command, "--help"}).output;
    }
    const std::filesystem::path root = std::string(LULL_TESTS) + "/..";
    std::vector<std::filesystem::path> pages = {root / "README.md"};
    for (const auto& page : std::filesystem::directory_iterator(root / "src/docs")) {
      if (page.path().extension() == ".md") pages.push_back(page.path());
    }
    int options = 0;
    for (const auto& page : pages) {
      std::ifstream text(page);
      REQUIRE(text.good());
      for (std::string line; std::getline(text, line);) {
        if (line.rfind("<!--", 0) == 0) continue;
        for (auto at = line.find("--"); at != std::string::npos; at = line.find("--", at + 2)) {
          const auto end = line.find_first_not_of("abcdefghijklmnopqrstuvwxyz-", at);
          const std::string option = line.substr(at, end - at);
          if (option.size() < 3 || option[2] == '-') break;  // a rule of a table
          if (option == "--help") continue;
          CAPTURE(page);
          CAPTURE(option);
          const bool exists = help.find("  " + option + " ") != std::string::npos ||
                              help.find("  " + option + "\n") != std::string::npos;
          CHECK(exists);
          ++options;
        }
      }
    }
    CHECK(options >= 60);
  }
}
