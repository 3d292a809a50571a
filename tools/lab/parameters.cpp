#include "lab/parameters.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>

#include "core/choices.h"
#include "core/error.h"

namespace lull::lab {

NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE_WITH_DEFAULT(SecondBody, light, radius_px, x_px, y_px, x_px_s,
                                                y_px_s)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE_WITH_DEFAULT(
    SceneParameters, kind, image, image_px_per_px, centre_x_px, centre_y_px, radius_px,
    limb_darkening, phase_deg, axis_deg, ring_inner, ring_outer, ring_opening_deg, cover,
    sun_altitude_deg, relief, detail, separation_px, companion, spots, largest_spot_px, granule_px,
    prominences, largest_prominence_px, veil, veil_radius_px, veil_width_px, second, planet, utc,
    clouds_utc, north_deg, still)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE_WITH_DEFAULT(TelescopeParameters, aperture_m, obstruction,
                                                wavelength_m, bandwidth_m, pixel_scale_arcsec,
                                                aberrations_rad)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE_WITH_DEFAULT(AirLayer, height_m, share, wind_m_s, wind_deg)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE_WITH_DEFAULT(AirParameters, d_over_r0, d_over_r0_swing, swing_s,
                                                slow_swing, slow_swing_s, outer_scale_m, layers,
                                                zenith_distance_deg, pressure_mmhg, temperature_c,
                                                water_mmhg, zenith_direction_deg, cloud_swing,
                                                cloud_s)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE_WITH_DEFAULT(MountParameters, drift_x_px_s, drift_y_px_s,
                                                periodic_px, periodic_s, shake_px, shake_hz,
                                                wander_px, wander_s, jumps_per_s, jump_px,
                                                gusts_per_s, gust_px, rotation_deg_s)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE_WITH_DEFAULT(CameraParameters, frames_per_s, exposure_s, bits,
                                                stored_bits, align, peak_electrons, gain_e_per_adu,
                                                read_noise_e, offset_adu, dark_e_per_s, hot_share,
                                                cold_share, column_noise_adu, row_noise_adu,
                                                row_flicker_adu, vignetting, dust, colour, filter,
                                                red_m, blue_m, interlaced)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE_WITH_DEFAULT(FaultParameters, dropped, doubled, black, cut_short,
                                                crossed, copies)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE_WITH_DEFAULT(ChangeParameters, after, turn, light, defocus_rad,
                                                wavelength_m)
NLOHMANN_DEFINE_TYPE_NON_INTRUSIVE_WITH_DEFAULT(Parameters, name, width_px, height_px, frames, seed,
                                                recording, container, calibration_frames, scene,
                                                telescope, air, mount, camera, faults, change)

namespace {

constexpr double kArcsecPerRad = 206264.80624709636;
constexpr double kCoarsestSampling = 4;  // times the cutoff beyond Nyquist
constexpr int kMostSidePx = 4096;
constexpr int kMostFrames = 1'000'000;

// Members that no parameter has would be lost without a word.
void refuse_unknown(const nlohmann::json& given, const nlohmann::json& known,
                    const std::string& place) {
  if (!given.is_object()) return;
  for (const auto& [key, value] : given.items()) {
    if (!known.contains(key)) {
      std::vector<std::string> names;
      for (const auto& [name, ignored] : known.items()) names.push_back(name);
      throw invalid_choice("a member of " + place, key, names);
    }
    if (known.at(key).is_object()) refuse_unknown(value, known.at(key), key);
  }
}

struct Range {
  const char* name;
  double value;
  double low;
  double high;
};

void check_ranges(std::initializer_list<Range> ranges) {
  for (const Range& r : ranges) {
    if (r.value >= r.low && r.value <= r.high) continue;  // false for NaN
    throw UsageError(
        fmt::format("{} is {}; it must be from {} to {}", r.name, r.value, r.low, r.high));
  }
}

void check_choice(const char* name, const std::string& value,
                  const std::vector<std::string>& known) {
  if (std::find(known.begin(), known.end(), value) == known.end()) {
    throw invalid_choice(name, value, known);
  }
}

void check_optics(const Parameters& p) {
  check_ranges({{"aperture_m", p.telescope.aperture_m, 0.01, 50},
                {"obstruction", p.telescope.obstruction, 0, 0.9},
                {"wavelength_m", p.telescope.wavelength_m, 200e-9, 20e-6},
                {"bandwidth_m", p.telescope.bandwidth_m, 0, 0.8 * p.telescope.wavelength_m},
                {"pixel_scale_arcsec", p.telescope.pixel_scale_arcsec, 1e-4, 100}});
  const double cutoff = p.cutoff_cycles_per_px();
  if (cutoff > 0.5 * kCoarsestSampling) {
    throw UsageError(fmt::format(
        "pixel_scale_arcsec {} undersamples the cutoff of the telescope {:.1f} times (at most {} "
        "are simulated); Nyquist sampling is {:.3f} arcsec",
        p.telescope.pixel_scale_arcsec, cutoff / 0.5, kCoarsestSampling,
        p.telescope.pixel_scale_arcsec * 0.5 / cutoff));
  }
  if (cutoff < 0.05) {
    throw UsageError(
        fmt::format("pixel_scale_arcsec {} oversamples the cutoff of the telescope "
                    "{:.0f} times; more than 10 times shows nothing",
                    p.telescope.pixel_scale_arcsec, 0.5 / cutoff));
  }
}

void check_air(const AirParameters& air) {
  check_ranges({{"d_over_r0", air.d_over_r0, 0, 40},
                {"d_over_r0_swing", air.d_over_r0_swing, 0, 0.5},
                {"swing_s", air.swing_s, 0.01, 1e4},
                {"slow_swing", air.slow_swing, 0, 0.5},
                {"slow_swing_s", air.slow_swing_s, 0.01, 1e5},
                {"cloud_s", air.cloud_s, 0.01, 1e5},
                {"outer_scale_m", air.outer_scale_m, 0, 1e4},
                {"zenith_distance_deg", air.zenith_distance_deg, 0, 80},
                {"cloud_swing", air.cloud_swing, 0, 0.3}});
  if (air.layers.empty()) throw UsageError("layers is empty; without air, give d_over_r0 as 0");
  double sum = 0;
  for (const AirLayer& layer : air.layers) {
    check_ranges({{"height_m", layer.height_m, 0, 40000},
                  {"share", layer.share, 0, 1},
                  {"wind_m_s", layer.wind_m_s, 0, 150}});
    sum += layer.share;
  }
  if (std::abs(sum - 1) > 1e-6) {
    throw UsageError(fmt::format("the shares of the layers add up to {}, not to 1", sum));
  }
}

void check_camera(const CameraParameters& camera) {
  check_choice("colour", camera.colour, {"mono", "rgb", "rggb", "bggr", "gbrg", "grbg"});
  check_choice("filter", camera.filter, {"none", "red", "green", "blue"});
  if (camera.filter != "none" && camera.colour != "mono")
    throw UsageError("filter is for mono cameras; a colour camera has its own filters");
  check_choice("align", camera.align, {"low", "high"});
  check_ranges(
      {{"frames_per_s", camera.frames_per_s, 0.1, 10000},
       {"exposure_s", camera.exposure_s, 1e-6, 1 / camera.frames_per_s},
       {"stored_bits", static_cast<double>(camera.stored_bits), 8, 16},
       {"bits", static_cast<double>(camera.bits), 8, static_cast<double>(camera.stored_bits)},
       {"peak_electrons", camera.peak_electrons, 1, 1e7},
       {"gain_e_per_adu", camera.gain_e_per_adu, 0, 1e6},
       {"read_noise_e", camera.read_noise_e, 0, 1e4},
       {"offset_adu", camera.offset_adu, 0, 1e4},
       {"dark_e_per_s", camera.dark_e_per_s, 0, 1e7},
       {"hot_share", camera.hot_share, 0, 0.1},
       {"cold_share", camera.cold_share, 0, 0.1},
       {"column_noise_adu", camera.column_noise_adu, 0, 1e4},
       {"row_noise_adu", camera.row_noise_adu, 0, 1e4},
       {"row_flicker_adu", camera.row_flicker_adu, 0, 1e4},
       {"vignetting", camera.vignetting, 0, 0.9},
       {"dust", static_cast<double>(camera.dust), 0, 1000}});
  if (camera.stored_bits != 8 && camera.stored_bits != 16) {
    throw UsageError(fmt::format("stored_bits is {}; it must be 8 or 16", camera.stored_bits));
  }
}

}  // namespace

double AirParameters::worst_d_over_r0() const {
  return d_over_r0 * (1 + 2 * std::hypot(d_over_r0_swing, slow_swing));
}

double Parameters::cutoff_cycles_per_px() const {
  return telescope.pixel_scale_arcsec / kArcsecPerRad * telescope.aperture_m /
         telescope.wavelength_m;
}

std::vector<double> Parameters::wavelengths_m() const {
  if (camera.filter == "red") return {camera.red_m};
  if (camera.filter == "blue") return {camera.blue_m};
  if (camera.colour == "mono") return {telescope.wavelength_m};
  return {camera.red_m, telescope.wavelength_m, camera.blue_m};
}

std::size_t Parameters::light_of(std::size_t channel) const {
  if (camera.colour != "mono") return channel;
  return camera.filter == "red" ? 0 : camera.filter == "blue" ? 2 : 1;
}

Parameters Parameters::changed() const {
  Parameters out = *this;
  if (change.defocus_rad != 0) {
    if (out.telescope.aberrations_rad.empty()) out.telescope.aberrations_rad.push_back(0);
    out.telescope.aberrations_rad[0] += change.defocus_rad;
  }
  if (change.wavelength_m > 0) {
    const double ratio = change.wavelength_m / telescope.wavelength_m;
    out.telescope.wavelength_m = change.wavelength_m;
    for (double& value : out.telescope.aberrations_rad) value /= ratio;
    // r0 grows with the 6/5 power of the wavelength (Fried 1966, J. Opt. Soc. Am. 56, 1372).
    out.air.d_over_r0 *= std::pow(ratio, -1.2);
  }
  return out;
}

nlohmann::json to_json(const Parameters& parameters) {
  nlohmann::json json;
  to_json(json, parameters);
  return json;
}

Parameters parameters_from(const nlohmann::json& json) {
  if (!json.is_object()) throw UsageError("the parameters are not a JSON object");
  refuse_unknown(json, to_json(Parameters{}), "the parameters");
  try {
    return json.get<Parameters>();
  } catch (const nlohmann::json::exception& error) {
    throw UsageError(fmt::format("a parameter has the wrong type: {}", error.what()));
  }
}

Parameters read_parameters(const std::filesystem::path& path) {
  std::ifstream file(path);
  if (!file) throw InputError(fmt::format("{}: cannot be read", path.string()));
  const auto json = nlohmann::json::parse(file, nullptr, false);
  if (json.is_discarded()) throw InputError(fmt::format("{}: this is not JSON", path.string()));
  return parameters_from(json.contains("parameters") ? json.at("parameters") : json);
}

void check(const Parameters& p) {
  check_choice("container", p.container, {"mkv", "avi", "nut"});
  if (p.scene.kind != "panel") {
    check_choice("scene.kind", p.scene.kind,
                 {"surface", "sphere", "planet", "sun", "stars", "image"});
  }
  check_choice("scene.cover", p.scene.cover, {"bands", "deserts"});
  check_ranges({{"width_px", static_cast<double>(p.width_px), 32, kMostSidePx},
                {"height_px", static_cast<double>(p.height_px), 32, kMostSidePx},
                {"frames", static_cast<double>(p.frames), 1, kMostFrames},
                {"calibration_frames", static_cast<double>(p.calibration_frames), 0, 10000},
                {"scene.radius_px", p.scene.radius_px, 1, 1e5},
                {"scene.image_px_per_px", p.scene.image_px_per_px, 0.01, 100},
                {"scene.phase_deg", p.scene.phase_deg, 0, 170},
                {"scene.sun_altitude_deg", p.scene.sun_altitude_deg, 1, 90},
                {"scene.ring_outer", p.scene.ring_outer, 0, 10},
                {"scene.detail", p.scene.detail, 0, 0.5},
                {"scene.prominences", p.scene.prominences, 0, 100},
                {"scene.largest_prominence_px", p.scene.largest_prominence_px, 8, 1000},
                {"scene.largest_spot_px", p.scene.largest_spot_px, 5, 1000},
                {"scene.granule_px", p.scene.granule_px, 1, 1000},
                {"mount.rotation_deg_s", p.mount.rotation_deg_s, -10, 10},
                {"mount.shake_hz", p.mount.shake_hz, 0.01, 1000},
                {"mount.periodic_s", p.mount.periodic_s, 0.01, 1e5},
                {"mount.wander_px", p.mount.wander_px, 0, 1000},
                {"mount.wander_s", p.mount.wander_s, 0.01, 1e5},
                {"faults.dropped", p.faults.dropped, 0, 0.9},
                {"faults.doubled", p.faults.doubled, 0, 0.9},
                {"faults.black", p.faults.black, 0, 0.9},
                {"faults.cut_short", p.faults.cut_short, 0, 0.9},
                {"faults.crossed", p.faults.crossed, 0, 0.9},
                {"faults.copies", static_cast<double>(p.faults.copies), 1, 100},
                {"scene.veil", p.scene.veil, 0, 100},
                {"scene.veil_width_px", p.scene.veil_width_px, 0.5, 1e5},
                {"scene.second.light", p.scene.second.light, 0, 100},
                {"scene.second.radius_px", p.scene.second.radius_px, 0.5, 1e5},
                {"change.after", p.change.after, 0, 1},
                {"change.light", p.change.light, 0, 100},
                {"change.defocus_rad", p.change.defocus_rad, -20, 20},
                {"change.wavelength_m", p.change.wavelength_m, 0, 20e-6}});
  check_choice("change.turn", p.change.turn, {"none", "half", "left-right", "up-down"});
  if (p.change.wavelength_m > 0 && p.camera.colour != "mono")
    throw UsageError(
        "change.wavelength_m is for mono captures; a colour camera has its own filters");
  check_optics(p);
  check_air(p.air);
  check_camera(p.camera);
  if (p.container == "avi" && p.camera.stored_bits != 8) {
    throw UsageError("container avi holds 8-bit samples only; choose mkv or nut");
  }
}

}  // namespace lull::lab
