#include "lab/targets.h"

namespace lull::lab {

namespace {

// The telescopes of Curlew Hill, an observatory that does not exist.
TelescopeParameters heron() { return {0.254, 0.30, 550e-9, 0, 0.15, {}}; }  // planets

TelescopeParameters wren() { return {0.180, 0.33, 550e-9, 0, 0.21, {}}; }  // the Moon

TelescopeParameters plover() { return {0.120, 0.0, 540e-9, 0, 0.32, {}}; }  // the Sun, filtered

}  // namespace

Parameters moon_close() {
  Parameters p;
  p.telescope = wren();
  p.scene = {.kind = "surface", .sun_altitude_deg = 32};
  p.camera.peak_electrons = 7000;
  p.camera.column_noise_adu = 0.3;
  return p;
}

Parameters moon_terminator() {
  Parameters p = moon_close();
  p.scene.sun_altitude_deg = 7;
  p.scene.relief = 1.1;
  p.camera.bits = 12;
  p.camera.stored_bits = 16;
  p.camera.offset_adu = 60;
  p.camera.peak_electrons = 11000;
  p.mount.gusts_per_s = 0.3;
  return p;
}

Parameters mars() {
  Parameters p;
  p.width_px = 176;
  p.height_px = 176;
  p.telescope = heron();
  p.telescope.wavelength_m = 610e-9;
  p.scene = {.kind = "sphere",
             .radius_px = 52,
             .limb_darkening = 0.55,
             .phase_deg = 18,
             .cover = "deserts"};
  p.camera.frames_per_s = 150;
  p.camera.bits = 12;
  p.camera.stored_bits = 16;
  p.camera.offset_adu = 40;
  p.camera.peak_electrons = 5000;
  p.mount.shake_px = 1.2;
  p.mount.shake_hz = 6;
  return p;
}

Parameters jupiter() {
  Parameters p;
  p.width_px = 240;
  p.height_px = 220;
  p.telescope = heron();
  p.scene = {.kind = "sphere", .radius_px = 82, .limb_darkening = 0.8, .axis_deg = -12};
  p.air.zenith_distance_deg = 42;
  p.air.zenith_direction_deg = 70;
  p.camera.colour = "rggb";
  p.camera.frames_per_s = 90;
  p.camera.exposure_s = 0.008;
  p.camera.peak_electrons = 3500;
  p.container = "nut";
  return p;
}

Parameters saturn() {
  Parameters p;
  p.width_px = 256;
  p.height_px = 144;
  p.telescope = heron();
  p.scene = {.kind = "sphere",
             .radius_px = 38,
             .limb_darkening = 0.7,
             .axis_deg = -6,
             .ring_inner = 1.24,
             .ring_outer = 2.27,
             .ring_opening_deg = 19};
  p.camera.frames_per_s = 40;
  p.camera.exposure_s = 0.02;
  p.camera.peak_electrons = 90;
  p.camera.gain_e_per_adu = 0.55;
  p.camera.read_noise_e = 1.4;
  p.camera.hot_share = 0.0003;
  p.mount.drift_x_px_s = 3;
  p.faults = {0.01, 0.02, 0.003, 0.02, 0};
  return p;
}

Parameters sun_surface() {
  Parameters p;
  p.telescope = plover();
  p.scene = {.kind = "sun",
             .centre_x_px = 250,
             .centre_y_px = -140,
             .radius_px = 2900,
             .limb_darkening = 0.6,
             .spots = 5};
  p.camera.exposure_s = 0.002;
  p.camera.peak_electrons = 9000;
  p.camera.vignetting = 0.12;
  p.camera.dust = 12;
  p.camera.hot_share = 0.0002;
  p.calibration_frames = 32;
  return p;
}

Parameters sun_limb() {
  Parameters p = sun_surface();
  p.scene.centre_x_px = -2850;
  p.scene.centre_y_px = 300;
  p.scene.spots = 3;
  return p;
}

Parameters disc_cut() {
  Parameters p = jupiter();
  p.width_px = 200;
  p.height_px = 160;
  p.scene.centre_x_px = 70;
  p.scene.centre_y_px = -30;
  return p;
}

Parameters limb_along() {
  Parameters p = sun_surface();
  p.scene.radius_px = 520;
  p.scene.centre_x_px = -376;
  p.scene.centre_y_px = 30;
  p.scene.spots = 4;
  return p;
}

}  // namespace lull::lab
