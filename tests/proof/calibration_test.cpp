#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <utility>

#include "core/progress.h"
#include "files/picture_file.h"
#include "judge/judge.h"
#include "lab/simulator.h"
#include "support/memory_capture.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

// Whole runs over the lab's captures, held against the lab's truth.

using namespace lull;
using test::run_lull;
using test::TemporaryFolder;

namespace {

lab::Parameters capture_of(const std::string& scene, const std::string& colour, bool faulty) {
  lab::Parameters p;
  p.name = faulty ? "faulty" : "clean";
  p.width_px = 160;
  p.height_px = 144;
  p.frames = 60;
  p.seed = 11;
  p.calibration_frames = 24;
  p.scene.kind = scene;
  p.scene.radius_px = 45;
  p.camera.bits = 12;
  p.camera.stored_bits = 16;
  p.camera.offset_adu = 64;
  p.camera.read_noise_e = 4;
  p.camera.colour = colour;
  p.container = "nut";  // it can state a mosaic
  if (faulty) {
    p.camera.dust = 6;
    p.camera.vignetting = 0.3;
    p.camera.hot_share = 0.001;
    p.camera.cold_share = 0.0003;
    p.camera.column_noise_adu = 6;
  }
  return p;
}

// Some write under one name again.
void run(std::vector<std::string> arguments) {
  arguments.insert(arguments.end(), {"--quiet", "--overwrite"});
  const test::Run done = run_lull(arguments);
  CAPTURE(done.errors);
  REQUIRE(done.status == 0);
}

/// RMS error against the truth over its standard deviation, mean of the channels.
double residual(const std::string& stack, const std::string& truth) {
  const judge::Verdict verdict =
      judge::judge(files::read_picture(stack).picture, judge::read_truth(truth));
  double sum = 0;
  for (const auto& channel : verdict.channels) sum += channel.measures.nrmse;
  return sum / static_cast<double>(verdict.channels.size());
}

/// The masters of a simulated capture, as a user makes them.
std::vector<std::string> masters_of(const TemporaryFolder& folder, const std::string& name) {
  const std::string dark = folder.file(name + "_dark.fits");
  const std::string flat = folder.file(name + "_flat.fits");
  run({"master", folder.file(name + "_dark.nut"), "-o", dark, "--kind", "dark"});
  run({"master", folder.file(name + "_flat.nut"), "-o", flat, "--kind", "flat", "--flat-dark",
       dark});
  return {"--dark", dark, "--flat", flat};
}

double stacked_residual(const TemporaryFolder& folder, const std::string& name,
                        const std::vector<std::string>& calibration) {
  const std::string out = folder.file("out.fits");
  std::vector<std::string> arguments = {
      "stack", folder.file(name + ".nut"), "-o", out, "--finish", "none", "--keep", "50%"};
  arguments.insert(arguments.end(), calibration.begin(), calibration.end());
  run(arguments);
  return residual(out, folder.file(name + ".truth.fits"));
}

}  // namespace

TEST_SUITE("proof/calibration") {
  // The lab's truth; the bound of 5% is the project's own, no source. The same air blurs both
  // captures, so all differences are the sensor's.
  TEST_CASE("dust, vignetting, hot and cold pixels and columns leave within 5% of no faults") {
    using Kind = std::pair<std::string, std::string>;
    for (const Kind& kind : {Kind{"surface", "mono"}, Kind{"sphere", "rggb"}}) {
      const std::string& scene = kind.first;
      const std::string& colour = kind.second;
      CAPTURE(scene);
      CAPTURE(colour);
      const TemporaryFolder folder;
      (void)lab::simulate(capture_of(scene, colour, false), folder.path(), Progress{});
      (void)lab::simulate(capture_of(scene, colour, true), folder.path(), Progress{});
      const double clean = stacked_residual(folder, "clean", masters_of(folder, "clean"));
      const double repaired = stacked_residual(folder, "faulty", masters_of(folder, "faulty"));
      const double raw = stacked_residual(folder, "faulty", {});
      MESSAGE("without faults " << clean << ", calibrated " << repaired << ", not calibrated "
                                << raw);
      CHECK(repaired < 1.05 * clean);
      CHECK(raw > 1.1 * clean);
    }
  }

  // Janesick, Photon Transfer, SPIE Press 2007 (from memory); truth: what the lab drew with.
  TEST_CASE("gain from the lab's flats within 3%, with faults of the sensor") {
    const TemporaryFolder folder;
    lab::Parameters p = capture_of("surface", "mono", true);
    p.frames = 2;
    p.camera.gain_e_per_adu = 2.2;
    (void)lab::simulate(p, folder.path(), Progress{});
    const test::Run done = run_lull({"master", folder.file("faulty_flat.nut"), "-o",
                                     folder.file("flat.fits"), "--kind", "flat", "--flat-dark",
                                     folder.file("faulty_dark.nut"), "--json", "--quiet"});
    CAPTURE(done.errors);
    REQUIRE(done.status == 0);
    const auto json = nlohmann::json::parse(done.output);
    CHECK(json["gain_e_per_adu"].get<double>() == doctest::Approx(2.2).epsilon(0.03));
    CHECK(json["read_noise_e"].get<double>() == doctest::Approx(4).epsilon(0.05));
  }
}
