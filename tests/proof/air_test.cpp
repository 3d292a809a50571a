// Covers: health/turbulence, run/air
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <string>
#include <utility>

#include "core/progress.h"
#include "lab/simulator.h"
#include "support/memory_capture.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using namespace lull;
using test::run_lull;
using test::TemporaryFolder;

namespace {

lab::Parameters capture_of(const std::string& scene, double d_over_r0) {
  lab::Parameters p;
  p.name = "air";
  p.width_px = 240;
  p.height_px = 208;
  p.frames = 120;
  p.seed = 5;
  p.scene.kind = scene;
  p.air.d_over_r0 = d_over_r0;
  p.air.d_over_r0_swing = 0;  // so that the truth is one number
  p.camera.bits = 12;
  p.camera.stored_bits = 16;
  p.container = "nut";
  return p;
}

nlohmann::json air_of(const lab::Parameters& p, const std::string& keep) {
  const TemporaryFolder folder;
  (void)lab::simulate(p, folder.path(), Progress{});
  const double pixel_um = 3;
  const double focal_mm = 206.264806 * pixel_um / p.telescope.pixel_scale_arcsec;
  const auto done = run_lull({"stack",
                              folder.file("air.nut"),
                              "-o",
                              folder.file("a.tif"),
                              "--keep",
                              keep,
                              "--finish",
                              "none",
                              "--report",
                              "none",
                              "--quiet",
                              "--json",
                              "--aperture",
                              std::to_string(1000 * p.telescope.aperture_m),
                              "--focal-length",
                              std::to_string(focal_mm),
                              "--pixel",
                              std::to_string(pixel_um),
                              "--wavelength",
                              std::to_string(1e9 * p.telescope.wavelength_m)});
  CAPTURE(done.errors);
  REQUIRE(done.status == 0);
  return nlohmann::json::parse(done.output).at("air");
}

}  // namespace

TEST_SUITE("proof/air") {
  // The lab's truth; the bound is what the project asks of itself, no source.
  TEST_CASE("D / r0 within 10% of the lab's, whatever part of the frames is kept") {
    using Kind = std::pair<std::string, double>;
    for (const Kind& kind : {Kind{"surface", 3.5}, {"surface", 5}, {"surface", 8}, {"sphere", 5}}) {
      const std::string& scene = kind.first;
      const double d_over_r0 = kind.second;
      CAPTURE(scene);
      CAPTURE(d_over_r0);
      const auto air = air_of(capture_of(scene, d_over_r0), "20%");
      REQUIRE(!air.is_null());
      MESSAGE(scene << " " << d_over_r0 << ": " << air.at("d_over_r0").get<double>());
      CHECK(air.at("d_over_r0").get<double>() == doctest::Approx(d_over_r0).epsilon(0.1));
      CHECK(air.at("r0_mm").get<double>() * air.at("d_over_r0").get<double>() ==
            doctest::Approx(250));
    }
  }
}
