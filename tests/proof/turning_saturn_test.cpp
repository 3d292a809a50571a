#include <doctest/doctest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "core/progress.h"
#include "files/picture_file.h"
#include "judge/judge.h"
#include "lab/simulator.h"
#include "lab/turning_worlds.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

// A turning Saturn with open rings, through air of its own in each of three captures, 14 minutes
// apart: stacked, brought to the moment of the middle one, and held against the truth of that
// moment.

using namespace lull;

TEST_SUITE("proof/turning_saturn") {
  namespace {

  const char* const kMoment = "2028-11-20T22:00:00";

  test::Run run(const std::vector<std::string>& words) {
    test::Run done = test::run_lull(words);
    CAPTURE(done.errors);
    REQUIRE(done.status == 0);
    return done;
  }

  std::string stack_of(const test::TemporaryFolder& folder, const std::string& name,
                       const std::string& utc, std::uint64_t recording) {
    lab::Parameters p;
    for (const lab::Preset& preset : lab::turning_worlds()) {
      if (preset.name == "turning-saturn") p = preset.parameters;
    }
    p.name = name;
    p.frames = 60;
    p.recording = recording;
    p.scene.utc = utc;
    p.scene.clouds_utc = kMoment;
    p.air.d_over_r0 = 3;
    p.camera.frames_per_s = 3;
    static_cast<void>(lab::simulate(p, folder.path(), Progress{}));
    run({"stack", folder.file(name + ".mkv"), "-o", folder.file(name + ".tif"), "--keep", "40%",
         "--fusion", "selection", "--object", "saturn", "--report", "none", "--quiet"});
    return folder.file(name + ".linear.fits");
  }

  judge::Measures measures_of(const std::string& picture, const judge::Truth& truth) {
    return judge::judge(files::read_picture(picture).picture, truth)
        .channels.at(0)
        .without_distortion;
  }

  }  // namespace

  TEST_CASE("stacks of Saturn 14 minutes apart are better together than the best alone") {
    const test::TemporaryFolder folder;
    const std::string early = stack_of(folder, "early", "2028-11-20T21:46:00", 1);
    const std::string middle = stack_of(folder, "middle", kMoment, 2);
    const std::string late = stack_of(folder, "late", "2028-11-20T22:14:00", 3);
    const std::string turned = folder.file("turned.linear.fits");
    const std::string json = run({"derotate", early, middle, late, "--north", "8", "--to", kMoment,
                                  "-o", turned, "--json", "--quiet"})
                                 .output;
    const auto found = nlohmann::json::parse(json);
    // 60 px: 0.1% and what the air leaves of it.
    for (const auto& stack : found.at("stacks"))
      CHECK(std::abs(stack.at("radius_px").get<double>() - 60) < 0.12);
    const judge::Truth truth = judge::read_truth(folder.file("middle.truth.fits"));
    const judge::Measures alone = measures_of(middle, truth);
    const judge::Measures other = measures_of(early, truth);
    const judge::Measures all = measures_of(turned, truth);
    CAPTURE(alone.psnr_best_radial);
    CAPTURE(other.psnr_best_radial);
    CAPTURE(all.psnr_best_radial);
    CHECK(all.psnr_best_radial > alone.psnr_best_radial + 0.8);
    CHECK(all.psnr_best_radial > other.psnr_best_radial + 5);
  }
}
