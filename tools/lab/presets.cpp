#include "lab/presets.h"

#include <fmt/format.h>

#include <functional>
#include <tuple>
#include <utility>

#include "core/choices.h"
#include "core/geometry.h"
#include "lab/odd_worlds.h"
#include "lab/real_worlds.h"
#include "lab/targets.h"
#include "lab/turning_worlds.h"

namespace lull::lab {

namespace {

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
  for (Preset& world : real_worlds()) out.push_back(std::move(world));
  for (Preset& world : turning_worlds()) out.push_back(std::move(world));
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
