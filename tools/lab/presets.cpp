#include "lab/presets.h"

#include <fmt/format.h>

#include <functional>
#include <tuple>
#include <utility>

#include "core/choices.h"
#include "core/geometry.h"
#include "lab/odd_worlds.h"

namespace lull::lab {

namespace {

// The telescopes of Curlew Hill, an observatory that does not exist.
TelescopeParameters heron() { return {0.254, 0.30, 550e-9, 0, 0.15, {}}; }  // planets

TelescopeParameters wren() { return {0.180, 0.33, 550e-9, 0, 0.21, {}}; }  // the Moon

TelescopeParameters plover() { return {0.120, 0.0, 540e-9, 0, 0.32, {}}; }  // the Sun, filtered

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

// A disc cut by two sides of the frame, and a limb that runs along one.
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

// Pixels too coarse for the optics: their cutoff lies at 1.6 times the highest frequency that the
// pixels can show, and at 1.55 times that in green, for blue passes more.
constexpr double kCoarseCutoff = 0.8;
constexpr double kCoarseCutoffGreen = 0.775;

Parameters coarse(Parameters p, double cutoff_cycles_per_px, Size size) {
  const double wanted = cutoff_cycles_per_px / p.cutoff_cycles_per_px();
  p.telescope.pixel_scale_arcsec *= wanted;
  p.frames = 400;
  p.width_px = size.width_px;
  p.height_px = size.height_px;
  p.air.d_over_r0 = 3;
  for (AirLayer& layer : p.air.layers) layer.wind_m_s *= 0.7;
  return p;
}

Parameters coarse_disc(Parameters p, double cutoff_cycles_per_px, Size size, double radius_px) {
  p.scene.radius_px = radius_px;
  return coarse(std::move(p), cutoff_cycles_per_px, size);
}

struct Weather {
  const char* name;
  double d_over_r0;
  double wind;  ///< factor
};

std::vector<Preset> make_presets() {
  struct Target {
    const char* name;
    const char* about;
    std::function<Parameters()> make;
    double turbulence;  ///< factor of D / r0: low targets look through more air
  };

  const std::vector<Target> targets = {
      {"moon-close", "lunar ground at a middling Sun, mono 8 bit", moon_close, 1},
      {"moon-terminator", "lunar ground at a low Sun, mono 12 bit", moon_terminator, 1.05},
      {"mars", "small disc with a phase, mono 12 bit, shaky", mars, 0.9},
      {"jupiter", "banded disc, Bayer mosaic 8 bit, dispersed", jupiter, 0.95},
      {"saturn", "ringed disc at 90 electrons, mono 8 bit, faulty frames", saturn, 0.9},
      {"sun-surface", "granulation and spots, dust, vignetting, dark and flat", sun_surface, 1},
      {"sun-limb", "the edge of the Sun, dust, vignetting, dark and flat", sun_limb, 1},
  };
  std::vector<Preset> out;
  for (const Target& target : targets) {
    for (const Weather& air : {Weather{"good", 3, 0.7}, {"fair", 5, 1}, {"poor", 8, 1.3}}) {
      Preset preset{fmt::format("{}-{}", target.name, air.name),
                    fmt::format("{}; {} air", target.about, air.name), target.make()};
      preset.parameters.name = preset.name;
      preset.parameters.air.d_over_r0 = air.d_over_r0 * target.turbulence;
      for (AirLayer& layer : preset.parameters.air.layers) layer.wind_m_s *= air.wind;
      out.push_back(std::move(preset));
    }
  }

  for (const auto& [name, about, parameters] :
       {std::tuple{"disc-cut-fair", "banded disc cut by the frame, Bayer mosaic 8 bit", disc_cut()},
        std::tuple{"limb-along-fair", "the edge of the Sun along that of the frame, dark and flat",
                   limb_along()}}) {
    out.push_back({name, fmt::format("{}; fair air", about), parameters});
    out.back().parameters.name = name;
  }

  struct Coarse {
    const char* name;
    const char* about;
    Parameters parameters;
  };

  for (const Coarse& one : {Coarse{"moon-coarse", "lunar ground, mono 8 bit",
                                   coarse(moon_close(), kCoarseCutoff, {200, 160})},
                            {"mars-coarse", "small disc with a phase, mono 12 bit",
                             coarse_disc(mars(), kCoarseCutoff, {128, 128}, 40)},
                            {"jupiter-coarse", "banded disc, Bayer mosaic 8 bit, dispersed",
                             coarse_disc(jupiter(), kCoarseCutoffGreen, {160, 144}, 54)},
                            {"saturn-coarse", "ringed disc at 90 electrons, mono 8 bit",
                             coarse_disc(saturn(), kCoarseCutoff, {160, 104}, 26)}}) {
    out.push_back({one.name,
                   fmt::format("{}; good air, pixels too coarse for the optics", one.about),
                   one.parameters});
    out.back().parameters.name = one.name;
  }
  for (Preset& world : odd_worlds()) out.push_back(std::move(world));
  return out;
}

}  // namespace

const std::vector<Preset>& presets() {
  static const std::vector<Preset> all = make_presets();
  return all;
}

const Preset& preset(const std::string& name) {
  std::vector<std::string> names;
  for (const Preset& one : presets()) {
    if (one.name == name) return one;
    names.push_back(one.name);
  }
  throw UsageError(
      fmt::format("there is no preset '{}', and no file of that name.{} "
                  "lull-sim --list shows them",
                  name, did_you_mean(name, names)));
}

}  // namespace lull::lab
