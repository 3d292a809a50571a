#include <doctest/doctest.h>

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>

#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"

using lull::test::Run;
using lull::test::run_bounds;
using lull::test::sample;
using lull::test::TemporaryFolder;

namespace {

// Output of the independent judge for the plain mean of this capture (samples/README.md): FRC area,
// and PSNR after the best radial filter, dB.
constexpr double kMeanArea = 0.283;
constexpr double kMeanPsnr = 28.6;

}  // namespace

TEST_SUITE("bounds/lull-bounds") {
  TEST_CASE("the mean is what others measured, and knowing more gives more") {
    const Run run =
        run_bounds({sample("highland.mkv"), sample("highland.truth.fits"), "--json", "--quiet"});
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    const auto json = nlohmann::json::parse(run.output);
    const auto figure = [&json](const char* bound, const char* name) {
      return json.at(bound).at("after_removing_smooth_distortion").at(name).get<double>();
    };
    CHECK(std::abs(figure("mean", "frc_auc") - kMeanArea) < 0.01);
    // The capture has a hot pixel, which is repaired here: that can only help, and by little.
    CHECK(figure("mean", "psnr_best_radial") > kMeanPsnr - 0.1);
    CHECK(figure("mean", "psnr_best_radial") < kMeanPsnr + 0.3);
    CHECK(figure("shift and add", "frc_auc") > figure("mean", "frc_auc") + 0.1);
    CHECK(figure("oracle", "frc_auc") > figure("shift and add", "frc_auc") + 0.1);
    CHECK(figure("oracle", "frc_auc") > figure("best frame", "frc_auc") + 0.1);
  }

  TEST_CASE("a truth of another capture is refused") {
    const Run run = run_bounds({sample("ringed_faint.ser"), sample("highland.truth.fits")});
    CHECK(run.status == 3);
    CHECK(run.errors.find("size") != std::string::npos);
    CHECK(run_bounds({sample("highland.mkv")}).status == 2);
    CHECK(run_bounds({sample("highland.mkv"), sample("none.truth.fits")}).status == 3);
    const TemporaryFolder folder;
    std::ofstream(folder.file("x.truth.fits")) << "no picture";
    CHECK(run_bounds({sample("highland.mkv"), folder.file("x.truth.fits")}).status == 3);
  }
}
