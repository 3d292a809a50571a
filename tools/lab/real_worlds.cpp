#include "lab/real_worlds.h"

#include "lab/targets.h"
#include "lab/world.h"

namespace lull::lab {

namespace {

constexpr int kFrames = 1000;

// What real captures have in common, whatever they show.
Parameters recorded(Parameters p) {
  p.frames = kFrames;
  p.container = "nut";
  p.camera.bits = 8;
  p.camera.stored_bits = 8;
  p.camera.offset_adu = 4;
  p.mount.wander_px = 6;
  return p;
}

// Slow enough that 1,000 frames see gusts and calm.
void let_it_gust(Parameters& p) {
  p.camera.frames_per_s = 25;
  p.air.slow_swing = 0.3;
  p.air.slow_swing_s = 12;
  p.air.cloud_swing = 0.1;
  p.air.cloud_s = 8;
}

Parameters disc_of(double diameter_px) {
  Parameters p = mars();
  const int side = static_cast<int>(diameter_px) + 72;
  p.width_px = side;
  p.height_px = side;
  p.scene.radius_px = diameter_px / 2;
  return p;
}

}  // namespace

std::vector<Preset> real_worlds() {
  const std::vector<World> worlds = {
      {"moon-faint", "lunar ground whose detail is 3% of its light", recorded(moon_close()),
       [](Parameters& p) { p.scene.detail = 0.03; }},
      {"moon-gusts", "lunar ground at a low Sun, gusts and calm, thin cloud",
       recorded(moon_terminator()), let_it_gust},
      {"disc-60", "disc of 60 px", recorded(disc_of(60)), [](Parameters&) {}},
      {"disc-400", "disc of 400 px, gusts and calm", recorded(disc_of(400)), let_it_gust},
      {"disc-cut", "banded disc cut by the frame, Bayer mosaic", recorded(disc_cut()),
       [](Parameters& p) { p.mount.wander_px = 3; }},
      {"crescent", "thin crescent of 120 px, poor air", recorded(disc_of(120)),
       [](Parameters& p) {
         p.scene.phase_deg = 120;
         p.air.d_over_r0 = 7;
       }},
      {"moon-beside", "planet with a brighter moon beside it", recorded(disc_of(80)),
       [](Parameters& p) {
         p.width_px = 200;
         p.scene.second = {.light = 1.4, .radius_px = 5, .x_px = 70, .y_px = -12};
         p.camera.gain_e_per_adu = p.camera.peak_electrons / 130;
       }},
      {"prominence", "the edge of the Sun with gas beyond it, dark and flat", recorded(sun_limb()),
       [](Parameters& p) {
         p.scene.centre_x_px = -2900;
         p.scene.spots = 0;
         p.scene.prominences = 4;
       }},
  };
  return presets_of("real", "1,000 frames, 8 bit, wandering", worlds);
}

}  // namespace lull::lab
