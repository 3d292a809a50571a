#include "lab/real_worlds.h"

#include <fmt/format.h>

#include <functional>
#include <utility>

#include "lab/targets.h"

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
  struct World {
    const char* name;
    const char* about;
    Parameters parameters;
    std::function<void(Parameters&)> change;
  };

  const std::vector<World> worlds = {
      {"moon-faint", "lunar ground whose detail is 3% of its light", moon_close(),
       [](Parameters& p) { p.scene.detail = 0.03; }},
      {"moon-gusts", "lunar ground at a low Sun, gusts and calm, thin cloud", moon_terminator(),
       let_it_gust},
      {"disc-60", "disc of 60 px", disc_of(60), [](Parameters&) {}},
      {"disc-400", "disc of 400 px, gusts and calm", disc_of(400), let_it_gust},
      {"disc-cut", "banded disc cut by the frame, Bayer mosaic", disc_cut(),
       [](Parameters& p) { p.mount.wander_px = 3; }},
      {"crescent", "thin crescent of 120 px, poor air", disc_of(120),
       [](Parameters& p) {
         p.scene.phase_deg = 120;
         p.air.d_over_r0 = 7;
       }},
      {"moon-beside", "planet with a brighter moon beside it", disc_of(80),
       [](Parameters& p) {
         p.width_px = 200;
         p.scene.second = {.light = 1.4, .radius_px = 5, .x_px = 70, .y_px = -12};
         p.camera.gain_e_per_adu = p.camera.peak_electrons / 130;
       }},
      {"prominence", "the edge of the Sun with gas beyond it, dark and flat", sun_limb(),
       [](Parameters& p) {
         p.scene.centre_x_px = -2900;
         p.scene.spots = 0;
         p.scene.prominences = 4;
       }},
  };
  std::vector<Preset> out;
  for (const World& world : worlds) {
    Preset preset{fmt::format("real-{}", world.name),
                  fmt::format("1,000 frames, 8 bit, wandering: {}", world.about),
                  recorded(world.parameters)};
    preset.parameters.name = preset.name;
    world.change(preset.parameters);
    out.push_back(std::move(preset));
  }
  return out;
}

}  // namespace lull::lab
