#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <regex>
#include <string>

#include "files/picture_file.h"
#include "judge/mosaic.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

// A night of the lab: captures of parts of one scene, each through air of its own.

using namespace lull;

TEST_SUITE("proof/mosaic_night") {
  namespace {

  // The commands of the page's night, for names of the lab's captures.
  std::string commands_of_page() {
    std::ifstream file(std::string(LULL_TESTS) + "/../src/docs/mosaic.md");
    const std::string page{std::istreambuf_iterator<char>(file), {}};
    std::smatch loop;
    std::smatch join;
    REQUIRE(std::regex_search(page, loop, std::regex("for part in [^`]*done\n")));
    REQUIRE(std::regex_search(page, join, std::regex("`(lull mosaic part_[^`]*)`")));
    std::string both = loop.str() + join.str(1) + "\n";
    both = std::regex_replace(both, std::regex("part_\\*"), "panel_*");
    return std::regex_replace(both, std::regex("\\.ser"), ".mkv");
  }

  }  // namespace

  TEST_CASE("the night of the page makes one picture of the captures of parts") {
    const test::TemporaryFolder folder;
    const test::Run made =
        test::run_sim({"mosaic", "--columns", "2", "--rows", "2", "--panel", "320x240", "--overlap",
                       "25%", "--frames", "60", "-o", folder.path(), "--quiet"});
    CAPTURE(made.errors);
    REQUIRE(made.status == 0);
    test::RunOptions there;
    there.folder = folder.path();
    const test::Run ran = test::run_program(
        {"sh", "-c", "set -e; PATH=" LULL_PROGRAMS ":$PATH; " + commands_of_page()}, there);
    CAPTURE(ran.text());
    REQUIRE(ran.status == 0);
    const judge::MosaicTruth truth = judge::read_mosaic_truth(folder.path());
    for (const char* name : {"moon.linear.fits", "moon.tif"}) {
      CAPTURE(name);
      const judge::MosaicVerdict verdict =
          judge::judge_mosaic(files::read_picture(folder / name).picture, truth);
      // Stacks lack the rim of 3 to 5 px that not every frame shows.
      CHECK(verdict.covered > 0.93);
      CHECK(verdict.distortion_rms_px < 1);
      CHECK(verdict.psnr_db > 28);
      // Measured 1.5%, and 3.1% or more where the light of panels is left as it is.
      CHECK(verdict.borders.level_worst < 2.3);
    }
  }
}
