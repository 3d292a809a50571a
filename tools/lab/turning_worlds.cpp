#include "lab/turning_worlds.h"

#include "lab/world.h"

namespace lull::lab {

namespace {

// Four minutes, in which the middle of the disc moves by 3.9 px.
Parameters slow_jupiter() {
  Parameters p;
  p.width_px = 240;
  p.height_px = 232;
  p.frames = 480;
  p.telescope.aperture_m = 0.18;
  p.telescope.obstruction = 0.30;
  p.telescope.pixel_scale_arcsec = 0.213;  // 39.19 arcsec across at that date
  p.scene.kind = "planet";
  p.scene.radius_px = 92;
  p.scene.limb_darkening = 0.8;
  p.scene.north_deg = 12;
  p.camera.frames_per_s = 2;
  p.camera.exposure_s = 0.008;
  p.camera.peak_electrons = 6000;
  p.air.d_over_r0 = 4;
  p.mount = {.drift_x_px_s = 0.01,
             .drift_y_px_s = -0.01,
             .periodic_px = 1,
             .periodic_s = 40,
             .shake_px = 0.5,
             .wander_px = 2};
  return p;
}

// Eight minutes of Saturn with open rings, in which the middle of the disc moves by 4.3 px.
Parameters slow_saturn() {
  Parameters p = slow_jupiter();
  p.width_px = 320;
  p.height_px = 200;
  p.telescope.aperture_m = 0.28;
  p.telescope.pixel_scale_arcsec = 0.1669;  // 20.03 arcsec across at that date
  p.scene.planet = "saturn";
  p.scene.utc = "2028-11-20T22:00:00";
  p.scene.radius_px = 60;
  p.scene.limb_darkening = 0.7;
  p.scene.north_deg = 8;
  p.camera.frames_per_s = 1;
  p.camera.exposure_s = 0.02;
  p.camera.peak_electrons = 2000;
  return p;
}

}  // namespace

std::vector<Preset> turning_worlds() {
  const auto as_it_is = [](Parameters&) {};
  const auto still = [](Parameters& p) { p.scene.still = true; };
  return presets_of(
      "turning", "a planet for minutes, mono 8 bit",
      {{"jupiter", "four of Jupiter, and it turns", slow_jupiter(), as_it_is},
       {"jupiter-still", "four of Jupiter, and it stands still", slow_jupiter(), still},
       {"saturn", "eight of Saturn, and it turns", slow_saturn(), as_it_is},
       {"saturn-still", "eight of Saturn, and it stands still", slow_saturn(), still}});
}

}  // namespace lull::lab
