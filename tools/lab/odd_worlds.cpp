#include "lab/odd_worlds.h"

#include "lab/world.h"

namespace lull::lab {

namespace {

constexpr int kFrames = 96;
constexpr int kTurningFrames = 224;

Parameters ground() {
  Parameters p;
  p.width_px = 160;
  p.height_px = 128;
  p.frames = kFrames;
  p.seed = 5;
  p.air.d_over_r0 = 3;
  p.air.d_over_r0_swing = 0.05;
  p.scene = {.kind = "surface", .sun_altitude_deg = 25};
  return p;
}

Parameters disc() {
  Parameters p = ground();
  p.width_px = 144;
  p.scene = {.kind = "sphere", .radius_px = 34, .limb_darkening = 0.6};
  return p;
}

}  // namespace

std::vector<Preset> odd_worlds() {
  const std::vector<World> worlds = {
      {"flip", "turned by 180 degrees half-way, as by a mount that changes sides", ground(),
       [](Parameters& p) { p.change.turn = "half"; }},
      {"mirror", "mirrored half-way", ground(),
       [](Parameters& p) { p.change.turn = "left-right"; }},
      {"rotation", "the field turns by 5 degrees", ground(),
       [](Parameters& p) { p.mount.rotation_deg_s = 5 * p.camera.frames_per_s / p.frames; }},
      {"turning", "the field turns by 16 degrees", ground(),
       [](Parameters& p) {
         p.frames = kTurningFrames;
         p.mount.rotation_deg_s = 16 * p.camera.frames_per_s / p.frames;
       }},
      {"crossing", "a small dark-skied disc, and a second body that crosses it", disc(),
       [](Parameters& p) {
         p.scene.second = {.light = 0.15, .radius_px = 5, .x_px_s = 90, .y_px_s = 20};
       }},
      {"moon", "a moon brighter than its planet", disc(),
       [](Parameters& p) {
         p.scene.radius_px = 26;
         p.scene.second = {.light = 3, .radius_px = 4, .x_px = 45, .y_px = -20};
         p.camera.bits = 12;
         p.camera.stored_bits = 16;
         p.camera.offset_adu = 60;
         p.camera.gain_e_per_adu = 3 * p.camera.peak_electrons / 3000;
       }},
      {"crescent", "a thin crescent", disc(), [](Parameters& p) { p.scene.phase_deg = 125; }},
      {"veil", "thin cloud passes, with a ring of light around the body", disc(),
       [](Parameters& p) {
         p.scene.veil = 0.06;
         p.scene.veil_radius_px = 52;
         p.scene.veil_width_px = 6;
         p.air.cloud_swing = 0.3;
         p.camera.gain_e_per_adu = 1.8 * p.camera.peak_electrons / 200;
         p.air.swing_s = 0.2;
         p.air.cloud_s = 0.2;
       }},
      {"burnt", "the core is burnt out", disc(),
       [](Parameters& p) { p.camera.gain_e_per_adu = 0.75 * p.camera.peak_electrons / 251; }},
      {"interlaced", "odd rows half a frame later, while the mount drifts", ground(),
       [](Parameters& p) {
         p.camera.interlaced = true;
         p.camera.frames_per_s = 25;
         p.mount.drift_x_px_s = 25;
         p.mount.drift_y_px_s = 2;
       }},
      {"copies", "each picture is stored four times", ground(),
       [](Parameters& p) { p.faults.copies = 4; }},
      {"exposure", "a longer exposure half-way", disc(),
       [](Parameters& p) { p.change.light = 1.2; }},
      {"focus", "the focus is moved half-way", ground(),
       [](Parameters& p) { p.change.defocus_rad = 1.2; }},
      {"filter", "another filter half-way: 680 nm instead of 550 nm", ground(),
       [](Parameters& p) {
         p.change.wavelength_m = 680e-9;
         p.change.light = 0.7;
       }},
  };
  return presets_of("odd", "odd world", worlds);
}

}  // namespace lull::lab
