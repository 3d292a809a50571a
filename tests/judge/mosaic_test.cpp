#include "judge/mosaic.h"

#include <doctest/doctest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <numbers>
#include <sstream>
#include <string>

#include "core/error.h"
#include "files/picture_file.h"
#include "judge/mosaic_truth.h"
#include "support/run_program.h"
#include "support/scene.h"
#include "support/temporary_folder.h"

using lull::Plane;
using lull::Size;
using lull::judge::judge_mosaic;
using lull::judge::MosaicTruth;
using lull::judge::MosaicVerdict;
using lull::test::Run;
using lull::test::TemporaryFolder;

namespace {

// Panels of the Moon, made once.
const std::string& panels() {
  static const TemporaryFolder folder;
  static const std::string path = [] {
    const Run ran = lull::test::run_sim({"mosaic", "--columns", "2", "--rows", "2", "--panel",
                                         "280x220", "--seed", "4", "-o", folder.path(), "--quiet"});
    CAPTURE(ran.text());
    REQUIRE(ran.status == 0);
    return folder.path();
  }();
  return path;
}

const MosaicTruth& truth() {
  static const MosaicTruth one = lull::judge::read_mosaic_truth(panels());
  return one;
}

struct Altered {
  const char* errors;
  MosaicVerdict verdict{};
  double distortion_px = 0;  ///< that numpy put in
};

// By one run of the script, since Python takes longest to start.
const Altered& altered(const std::string& errors) {
  static std::vector<Altered> all = [] {
    std::vector<Altered> list = {{"-"},
                                 {"noise=0.002,blur=1,turn=180.4,scale=1.006"},
                                 {"noise=0.001,bend=1.5"},
                                 {"noise=0.001,blur=2.5"},
                                 {"noise=0.001,step=0.01,empty=0.2"}};
    const TemporaryFolder folder;
    std::vector<std::string> words = {panels()};
    for (std::size_t i = 0; i < list.size(); ++i) {
      words.push_back(folder.file(std::to_string(i) + ".fits"));
      words.emplace_back(list[i].errors);
    }
    std::stringstream put_in(lull::test::reference_of("judge/altered_mosaic.py", words));
    for (std::size_t i = 0; i < list.size(); ++i) {
      list[i].verdict = judge_mosaic(lull::files::read_picture(words[2 * i + 1]).picture, truth());
      put_in >> list[i].distortion_px;
    }
    REQUIRE(!put_in.fail());
    return list;
  }();
  for (const Altered& one : all) {
    if (errors == one.errors) return one;
  }
  FAIL("no such mosaic: " << errors);
  return all.front();
}

}  // namespace

TEST_SUITE("judge/mosaic") {
  TEST_CASE("the truth itself is without fault, at whatever gain and offset") {
    const MosaicVerdict& found = altered("-").verdict;
    CHECK(found.covered == doctest::Approx(1));
    CHECK(found.distortion_rms_px < 0.001);
    CHECK(found.psnr_db > 90);
    CHECK(found.gain == doctest::Approx(1 / 0.8).epsilon(1e-4));
    CHECK(found.offset == doctest::Approx(-0.02 / 0.8).epsilon(1e-3));
    CHECK(found.borders.pieces > 20);
    CHECK(found.borders.level_worst < 0.01);
    CHECK(found.anywhere.level_worst < 0.01);
    CHECK(!found.tiles.empty());
  }

  TEST_CASE("pose, noise and blur of a good mosaic are not taken for distortion or seams") {
    const MosaicVerdict& found = altered("noise=0.002,blur=1,turn=180.4,scale=1.006").verdict;
    CHECK(found.pose.scale == doctest::Approx(1.006).epsilon(0.0002));
    const double turn_deg = found.pose.turn_rad * 180 / std::numbers::pi;
    CHECK(std::abs(std::remainder(turn_deg - 180.4, 360)) < 0.01);
    CHECK(found.distortion_rms_px < 0.1);
    CHECK(found.borders.level_rms < 0.1);
    CHECK(found.anywhere.level_rms < 0.15);
    CHECK(found.psnr_db > 35);
  }

  TEST_CASE("poor air is neither distortion nor steps") {
    const MosaicVerdict& found = altered("noise=0.001,blur=2.5").verdict;
    CHECK(found.distortion_rms_px < 0.03);
    CHECK(found.borders.level_rms < 0.05);
    CHECK(found.borders.level_worst < 0.15);
    CHECK(found.beside.level_rms < 0.05);
    CHECK(found.gain == doctest::Approx(1 / 0.8).epsilon(0.002));
    CHECK(found.psnr_db < 40);
  }

  TEST_CASE("distortion is what is left after shift, turn and scale") {
    const Altered& one = altered("noise=0.001,bend=1.5");
    CHECK(one.distortion_px > 0.8);
    // Patches of 96 px, tapered, take 10% to 20% off waves of 377 px.
    CHECK(one.verdict.distortion_rms_px < 1.05 * one.distortion_px);
    CHECK(one.verdict.distortion_rms_px > 0.75 * one.distortion_px);
    CHECK(one.verdict.borders.level_rms < 0.2);
  }

  TEST_CASE("steps are found where they are, and what is missing is told") {
    const MosaicVerdict& found = altered("noise=0.001,step=0.01,empty=0.2").verdict;
    CHECK(found.borders.level_worst == doctest::Approx(1).epsilon(0.1));
    CHECK(found.anywhere.level_worst == doctest::Approx(1).epsilon(0.2));
    CHECK(found.covered > 0.75);
    CHECK(found.covered < 0.85);
    CHECK(found.psnr_db > 40);
  }

  TEST_CASE("level and slope of a step are told apart, in percent and percent in 100 px") {
    // A border down the middle of the scene, and light that follows two lines there.
    const Plane& scene = truth().picture;
    const int middle = scene.width() / 2;
    MosaicTruth line;
    for (const int y : {100, 150, 200, 250})
      line.panels.push_back({"", {{middle - 0.5, y + 0.0}, {middle - 0.5, y + 60.0}}});
    Plane covered(scene.size());
    covered.fill(1);
    const auto measured = [&](double level, double slope) {
      Plane seen(scene.size());
      for (int y = 0; y < scene.height(); ++y) {
        for (int x = 0; x < scene.width(); ++x) {
          const double off = x - (middle - 0.5);
          const double factor = off < 0 ? 1 : 1 + level + slope * off / 100;
          seen.row(y)[x] = static_cast<float>(factor * static_cast<double>(scene.row(y)[x]));
        }
      }
      return steps_at_borders(lull::judge::smooth_light(scene.view(), seen.view(), covered.view()),
                              line);
    };
    const auto level = measured(0.004, 0);
    CHECK(level.pieces == 8);
    CHECK(level.level_worst == doctest::Approx(0.4).epsilon(0.1));
    CHECK(level.slope_worst < 0.3);
    const auto slope = measured(0, 0.02);
    CHECK(slope.slope_worst == doctest::Approx(2).epsilon(0.1));
    CHECK(slope.level_worst < 0.1);
  }

  // Detail of a few pixels is gone in the small pictures that find the pose, and the light of the
  // mosaic, which is wrong, says the opposite.
  TEST_CASE("a disc that stands on its head is known by its detail") {
    constexpr Size kSide{600, 600};
    constexpr double kRadius = 260;
    const lull::test::Scene detail(kSide, 12, 2, 4);
    MosaicTruth disc;
    disc.picture = Plane(kSide);
    disc.panels.push_back({"", {{0, 0}, {599, 0}, {599, 599}, {0, 599}}});
    lull::files::Picture mosaic = lull::files::make_picture(kSide, 1);
    for (int y = 0; y < kSide.height_px; ++y) {
      for (int x = 0; x < kSide.width_px; ++x) {
        const double off_x = x - 299.5;
        const double off_y = y - 299.5;
        if (std::hypot(off_x, off_y) > kRadius) continue;
        const double light = 0.5 + 0.05 * (detail.at(x, y) - 0.5);
        disc.picture.row(y)[x] = static_cast<float>(light * (1 + 0.1 * off_x / kRadius));
        mosaic.channels[0].row(599 - y)[599 - x] =
            static_cast<float>(light * (1 - 0.2 * off_x / kRadius));
      }
    }
    const double turn_rad = judge_mosaic(mosaic, disc).pose.turn_rad;
    CHECK(std::cos(turn_rad) < -0.99);
  }

  TEST_CASE("the program prints the same as text and JSON, and refuses what it cannot judge") {
    const std::string scene = panels() + "/truth.fits";
    const Run ran = lull::test::run_judge({"mosaic", scene, "--truth", panels(), "--json"});
    REQUIRE(ran.status == 0);
    const auto json = nlohmann::json::parse(ran.output);
    for (const char* key :
         {"covered", "distortion_rms_px", "distortion_rms_3000_px", "psnr_db",
          "level_step_rms_percent", "slope_step_worst_percent", "border_pieces_not_told",
          "beside_step_worst_percent", "anywhere_step_p99_percent"}) {
      CAPTURE(key);
      CHECK(json.contains(key));
    }
    const TemporaryFolder folder;
    const Run lost = lull::test::run_judge({"mosaic", scene, "--truth", folder.path()});
    CHECK(lost.status == 3);
    CHECK(lost.errors.find("truth.json") != std::string::npos);
    std::ofstream(folder.file("truth.json")) << "{\"panels\": 3}";
    CHECK(lull::test::run_judge({"mosaic", scene, "--truth", folder.path()}).status == 3);
    CHECK(lull::test::run_judge({"mosaic", scene}).status == 2);
    lull::files::Picture other = lull::files::make_picture({400, 300}, 1);
    for (int y = 0; y < 300; ++y) {
      for (int x = 0; x < 400; ++x)
        other.channels[0].row(y)[x] = static_cast<float>(0.5 + 0.4 * std::sin(x * 0.21 * y));
    }
    CHECK_THROWS_AS(static_cast<void>(judge_mosaic(other, truth())), lull::InputError);
  }
}
