#include "lab/mosaic.h"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <functional>
#include <iterator>
#include <numbers>
#include <sstream>

#include "capture/capture.h"
#include "core/error.h"
#include "core/utc.h"
#include "lab/moon_disc.h"
#include "lab/mosaic_plan.h"
#include "run/finish_input.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using lull::Plane;
using lull::lab::MosaicParameters;
using lull::test::reference_of;
using lull::test::Run;
using lull::test::run_sim;
using lull::test::TemporaryFolder;

namespace {

std::vector<std::string> small_mosaic(const std::string& folder,
                                      const std::vector<std::string>& more) {
  std::vector<std::string> words = {"mosaic",  "--columns", "2",  "--rows", "2",
                                    "--panel", "200x160",   "-o", folder,   "--quiet"};
  words.insert(words.end(), more.begin(), more.end());
  return words;
}

std::string bytes_at(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace

TEST_SUITE("lab/mosaic") {
  TEST_CASE("panels show the scene where the truth says, with the light and the noise it says") {
    for (const std::string scene : {"moon", "sun"}) {
      CAPTURE(scene);
      const TemporaryFolder folder;
      const Run ran = run_sim(small_mosaic(folder.path(), {"--scene", scene}));
      CAPTURE(ran.text());
      REQUIRE(ran.status == 0);
      std::stringstream figures(reference_of("lab/mosaic_check.py", {folder.path()}));
      int panels = 0;
      for (double rest = 0, moved = 0, common = 0; figures >> rest >> moved >> common; ++panels) {
        CAPTURE(panels);
        CHECK(rest > 0.97);
        CHECK(rest < 1.06);
        CHECK(moved > 1.5 * rest);
        CHECK(std::abs(common) < 0.06);
      }
      CHECK(panels == 4);
      // Lull reads them as linear stacks with their halves.
      const auto panel = lull::run::read_finish_input(folder / "panel_03.linear.fits");
      CHECK(panel.has_halves);
      CHECK(panel.measured.frc.resolution().has_value());
      CHECK(panel.picture.size() == lull::Size{200, 160});
      CHECK(std::any_of(panel.cards.begin(), panel.cards.end(),
                        [](const auto& card) { return card.key == "DATE-AVG"; }));
    }
  }

  TEST_CASE("captures of panels show the scene where the truth says, with the light it says") {
    for (const std::string scene : {"moon", "sun", "sun-narrow"}) {
      CAPTURE(scene);
      const TemporaryFolder folder;
      const Run ran = run_sim(
          small_mosaic(folder.path(), {"--scene", scene, "--frames", "20", "--air", "good"}));
      CAPTURE(ran.text());
      REQUIRE(ran.status == 0);
      CHECK_FALSE(std::filesystem::exists(folder / "panel_01.linear.fits"));
      std::stringstream figures(reference_of("lab/mosaic_check.py", {folder.path(), "--captures"}));
      int panels = 0;
      for (double rest = 0, moved = 0, light = 0, lost = 0;
           figures >> rest >> moved >> light >> lost; ++panels) {
        CAPTURE(panels);
        // The rings of a perfect telescope are cut off nearer than in the scene, by 1% of the
        // light.
        CHECK(rest < 0.006);
        CHECK(moved > 2.5 * rest);
        CHECK(std::abs(light - 1) < 0.025);
        if (scene != "moon") CHECK(std::abs(lost - 1) < 0.5);  // even light shows it
      }
      CHECK(panels == 4);
    }
  }

  TEST_CASE("captures of panels are dated by the minute at which each was recorded") {
    const TemporaryFolder folder;
    const Run ran =
        run_sim(small_mosaic(folder.path(), {"--frames", "2", "--air", "good", "--hours", "3"}));
    CAPTURE(ran.text());
    REQUIRE(ran.status == 0);
    MosaicParameters p;
    p.columns = 2;
    p.rows = 2;
    p.hours = 3;
    const lull::Utc first = lull::parse_iso8601("2026-11-30T04:00:00").value();
    for (const auto& plan : lull::lab::plan_panels(p)) {
      CAPTURE(plan.number);
      const auto capture =
          lull::capture::Capture::open(folder.file(fmt::format("panel_{:02}.mkv", plan.number)));
      const auto begun = capture->info().times.begun;
      REQUIRE(begun.has_value());
      // Two frames last 0.08 s.
      CHECK(std::abs(lull::seconds_between(first, *begun) - 60 * plan.minutes) < 0.05);
    }
  }

  TEST_CASE("the same seed gives the same bytes on any number of threads, another seed others") {
    const TemporaryFolder folder;
    for (const auto& [name, seed, threads] :
         {std::tuple{"one", "7", "1"}, {"two", "7", "2"}, {"other", "8", "2"}}) {
      const auto words = small_mosaic(folder.file(name), {"--seed", seed, "--threads", threads});
      REQUIRE(run_sim(words).status == 0);
    }
    for (const char* file : {"truth.fits", "truth.json", "panel_01.linear.fits"}) {
      CAPTURE(file);
      CHECK(bytes_at(folder / "one" / file) == bytes_at(folder / "two" / file));
      CHECK(bytes_at(folder / "one" / file) != bytes_at(folder / "other" / file));
    }
  }

  TEST_CASE("the share of the disc that is lit is that of its phase") {
    // (1 + cos i) / 2: Meeus 1998, Astronomical Algorithms, 2nd ed., eq. 48.1.
    constexpr int kSide = 400;
    for (const double phase_deg : {0.0, 60.0, 90.0}) {
      CAPTURE(phase_deg);
      const Plane moon = lull::lab::MoonGround({kSide, kSide}, {{199.5, 199.5}, 190, 0}, 3)
                             .light({0, 0, kSide, kSide}, phase_deg);
      int lit = 0;
      for (int y = 0; y < kSide; ++y)
        lit += static_cast<int>(std::count_if(moon.row(y), moon.row(y) + kSide,
                                              [](float light) { return light > 0.004F; }));
      const double share = lit / (std::numbers::pi * 190 * 190);
      CHECK(share ==
            doctest::Approx((1 + std::cos(phase_deg * std::numbers::pi / 180)) / 2).epsilon(0.08));
      // The Sun is above.
      CHECK(moon.row(20)[200] > moon.row(380)[200] - (phase_deg == 0 ? 1.0F : 0.0F));
    }
  }

  TEST_CASE("a part of the ground is that part of the whole, shadows from above included") {
    constexpr int kSide = 300;
    const lull::lab::MoonGround ground({kSide, kSide}, {{149.5, 120}, 140, 0}, 5);
    const Plane whole = ground.light({0, 0, kSide, kSide}, 70);
    const lull::Box box{61, 150, 222, 203};  // beside the terminator, at 168
    const Plane part = ground.light(box, 70);
    bool same = true;
    for (int y = 0; y < part.height(); ++y)
      same = same &&
             std::equal(part.row(y), part.row(y) + part.width(), whole.row(box.y0 + y) + box.x0);
    CHECK(same);
  }

  TEST_CASE("over hours the terminator moves by a turn in a synodic month, and panels show it") {
    // 29.53 days: Meeus 1998, Astronomical Algorithms, 2nd ed., ch. 49.
    MosaicParameters p;
    p.hours = 6;
    const auto plans = lull::lab::plan_panels(p);
    CHECK(plans.front().phase_deg - plans.back().phase_deg ==
          doctest::Approx(360 * 6 / (29.53 * 24)).epsilon(1e-3));
    CHECK(plans.back().minutes == doctest::Approx(360));
    const TemporaryFolder folder;
    const Run ran = run_sim(small_mosaic(folder.path(), {"--hours", "6", "--air", "good"}));
    CAPTURE(ran.text());
    REQUIRE(ran.status == 0);
    std::stringstream figures(reference_of("lab/mosaic_check.py", {folder.path(), "--moments"}));
    int panels = 0;
    for (double rest = 0, moved = 0, common = 0; figures >> rest >> moved >> common; ++panels) {
      CAPTURE(panels);
      CHECK(rest > 0.97);
      CHECK(rest < 1.03);
    }
    CHECK(panels == 4);
  }

  TEST_CASE("what makes no sense is refused, in words") {
    const TemporaryFolder folder;

    struct Refused {
      const char* option;
      const char* value;
      const char* says;
    };

    for (const Refused& one : {Refused{"--scene", "mooon", "Did you mean"},
                               {"--panel", "1600", "WIDTHxHEIGHT"},
                               {"--air", "bad", "good, fair, poor or changing"},
                               {"--frames", "-1", "1 to 100000"},
                               {"--overlap", "much", "20% or 0.2"}}) {
      CAPTURE(one.option);
      const Run ran = run_sim({"mosaic", "-o", folder.file("made"), one.option, one.value});
      CAPTURE(ran.text());
      CHECK(ran.status == 2);
      CHECK(ran.errors.find(one.says) != std::string::npos);
    }
    CHECK(folder.names().empty());
    for (const auto& change : std::vector<std::function<void(MosaicParameters&)>>{
             [](auto& p) { p.overlap = 0.7; },
             [](auto& p) {
               p.panel = {20, 20};
             },
             [](auto& p) { p.columns = 2000; }, [](auto& p) { p.libration_deg = -1; },
             [](auto& p) { p.hours = 13; },
             [](auto& p) {
               p.panel = {20000, 20000};
             }}) {
      MosaicParameters p;
      CHECK_NOTHROW(lull::lab::check(p));
      change(p);
      CHECK_THROWS_AS(lull::lab::check(p), lull::UsageError);
    }
  }
}
