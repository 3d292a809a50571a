#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "capture/capture.h"
#include "core/progress.h"
#include "files/picture_file.h"
#include "judge/judge.h"
#include "lab/simulator.h"
#include "support/memory_capture.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

// Pattern noise through the command line, held against the lab's truth.

using namespace lull;
using test::run_lull;
using test::TemporaryFolder;

TEST_SUITE("proof/pattern") {
  namespace {

  lab::Parameters capture_of(const std::string& name, double columns_adu, double rows_adu) {
    lab::Parameters p;
    p.name = name;
    p.width_px = 176;
    p.height_px = 144;
    p.frames = 60;
    p.seed = 12;
    p.calibration_frames = 48;
    p.camera.bits = 12;
    p.camera.stored_bits = 16;
    p.camera.offset_adu = 100;
    p.camera.read_noise_e = 4;
    p.camera.column_noise_adu = columns_adu;
    p.camera.row_noise_adu = rows_adu;
    return p;
  }

  std::string run(std::vector<std::string> arguments) {
    arguments.emplace_back("--quiet");
    const test::Run done = run_lull(arguments);
    CAPTURE(done.errors);
    REQUIRE(done.status == 0);
    return done.output;
  }

  /// RMS error of the stack against the truth, over its standard deviation.
  double residual(const TemporaryFolder& folder, const std::string& name,
                  const std::string& choice) {
    const std::string out = folder.file(name + "_" + choice + ".fits");
    run({"stack", folder.file(name + ".mkv"), "-o", out, "--finish", "none", "--keep", "50%",
         "--pattern-noise", choice});
    const judge::Verdict verdict = judge::judge(
        files::read_picture(out).picture, judge::read_truth(folder.file(name + ".truth.fits")));
    return verdict.channels.at(0).measures.nrmse;
  }

  std::string bytes_of(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
  }

  struct Nonuniformity {
    double columns_adu = 0;
    double rows_adu = 0;
  };

  /// Spatial nonuniformity of the mean dark image: EMVA standard 1288, release 4.0, section on row,
  /// column and pixel variances (from memory). The variance of the means of the columns holds that
  /// of the pixels, over the pixels of a column; likewise that of the rows.
  Nonuniformity dark_nonuniformity(const std::string& path) {
    const auto dark = capture::Capture::open(path);
    const Size size = dark->info().size;
    std::vector<double> mean(static_cast<std::size_t>(size.area_px()));
    double frames = 0;
    for (auto frame = dark->next(); frame.ok(); frame = dark->next(), ++frames) {
      for (int y = 0; y < size.height_px; ++y) {
        const auto* row = frame.value().planes[0].row<std::uint16_t>(y);
        for (int x = 0; x < size.width_px; ++x)
          mean[static_cast<std::size_t>(std::ptrdiff_t{y} * size.width_px + x)] += row[x];
      }
    }
    std::vector<double> columns(static_cast<std::size_t>(size.width_px));
    std::vector<double> rows(static_cast<std::size_t>(size.height_px));
    double all = 0;
    for (int y = 0; y < size.height_px; ++y) {
      for (int x = 0; x < size.width_px; ++x) {
        double& value = mean[static_cast<std::size_t>(std::ptrdiff_t{y} * size.width_px + x)];
        value /= frames;
        columns[static_cast<std::size_t>(x)] += value / size.height_px;
        rows[static_cast<std::size_t>(y)] += value / size.width_px;
        all += value / static_cast<double>(size.area_px());
      }
    }
    double pixel_variance = 0;
    for (int y = 0; y < size.height_px; ++y) {
      for (int x = 0; x < size.width_px; ++x) {
        const double own = mean[static_cast<std::size_t>(std::ptrdiff_t{y} * size.width_px + x)] -
                           columns[static_cast<std::size_t>(x)] -
                           rows[static_cast<std::size_t>(y)] + all;
        pixel_variance += own * own / static_cast<double>(size.area_px());
      }
    }
    const auto deviation = [&](const std::vector<double>& lines, int length) {
      double variance = 0;
      for (const double line : lines)
        variance += (line - all) * (line - all) / static_cast<double>(lines.size());
      return std::sqrt(std::max(variance - pixel_variance / length, 0.0));
    };
    return {deviation(columns, size.height_px), deviation(rows, size.width_px)};
  }

  }  // namespace

  TEST_CASE(
      "columns and rows measured in exposed frames agree with the standard's figure of the dark") {
    const TemporaryFolder folder;
    (void)lab::simulate(capture_of("lines", 4, 2.5), folder.path(), Progress{});
    const Nonuniformity truth = dark_nonuniformity(folder.file("lines_dark.mkv"));
    const auto json = nlohmann::json::parse(run({"inspect", folder.file("lines.mkv"), "--json"}));
    const double columns = json["pattern_noise"]["columns_rms_adu"].get<double>();
    const double rows = json["pattern_noise"]["rows_rms_adu"].get<double>();
    MESSAGE("columns " << columns << " of " << truth.columns_adu << ", rows " << rows << " of "
                       << truth.rows_adu);
    // Each variance is measured from about 170 and 140 lines, 3.6 of which count as one independent
    // line: 10 and 11% of its root, from the finest scale, which need not be the mean of all; three
    // times that.
    CHECK(columns == doctest::Approx(truth.columns_adu).epsilon(0.3));
    CHECK(rows == doctest::Approx(truth.rows_adu).epsilon(0.33));
    CHECK(json["pattern_noise"]["significant"].get<bool>());
    bool reported = false;
    for (const auto& finding : json["findings"])
      reported = reported || finding["name"] == "pattern_noise";
    CHECK(reported);
  }

  TEST_CASE("half of what the lines cost the stack comes back") {
    const TemporaryFolder folder;
    for (lab::Parameters p : {capture_of("lines", 24, 16), capture_of("clean", 0, 0)}) {
      p.air.d_over_r0 = 1;  // blur would hide what lines cost
      p.scene.sun_altitude_deg = 60;
      (void)lab::simulate(p, folder.path(), Progress{});
    }
    const double clean = residual(folder, "clean", "off");
    const double kept = residual(folder, "lines", "off");
    const double removed = residual(folder, "lines", "auto");
    MESSAGE("without lines " << clean << ", with " << kept << ", subtracted " << removed);
    REQUIRE(kept > 1.02 * clean);
    // What changes over more than 11 lines stays, and wandering wears down least.
    CHECK(removed - clean < 0.5 * (kept - clean));
    // Without a pattern nothing is subtracted: the same bytes.
    (void)residual(folder, "clean", "auto");
    CHECK(bytes_of(folder.file("clean_auto.fits")) == bytes_of(folder.file("clean_off.fits")));
  }

  TEST_CASE("the recipe repeats the choice; what is none is refused") {
    const TemporaryFolder folder;
    (void)lab::simulate(capture_of("lines", 24, 0), folder.path(), Progress{});
    const std::string capture = folder.file("lines.mkv");
    for (const std::string choice : {"off", "auto"}) {
      const std::string out = folder.file(choice + ".fits");
      const std::string again = folder.file(choice + "_again.fits");
      run({"stack", capture, "-o", out, "--finish", "none", "--pattern-noise", choice});
      run({"stack", "-o", again, "--recipe", folder.file(choice + ".recipe.json")});
      CHECK(bytes_of(out) == bytes_of(again));
      const auto recipe = nlohmann::json::parse(bytes_of(folder.file(choice + ".recipe.json")));
      CHECK(recipe["figures"]["pattern_noise"]["taken_off"].get<std::string>().empty() ==
            (choice == "off"));
    }
    CHECK(bytes_of(folder.file("off.fits")) != bytes_of(folder.file("auto.fits")));
    const test::Run refused =
        run_lull({"stack", capture, "-o", folder.file("x.tif"), "--pattern-noise", "on"});
    CHECK(refused.status == 2);
    CHECK(refused.errors.find("--pattern-noise: invalid value 'on'") != std::string::npos);
  }
}
