#pragma once

#include <cstdint>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace lull::lab {

/// An even disc besides, whose light is added: a moon near its planet, or in front of it.
struct SecondBody {
  double light = 0;  ///< over the brightest place of the first; 0: none
  double radius_px = 3;
  double x_px = 0;  ///< from the centre of the frame, in the middle of the capture
  double y_px = 0;
  double x_px_s = 0;  ///< against the first
  double y_px_s = 0;
};

/// What is looked at. Lengths in pixels of the frame, angles in degrees.
struct SceneParameters {
  /// surface, sphere, planet, sun, stars, image; panel: a part of a larger scene, given besides
  std::string kind = "surface";
  std::string image = {};      ///< picture (image), or map of the whole sphere (sphere)
  double image_px_per_px = 1;  ///< pixels of the picture for one of the frame
  double centre_x_px = 0;      ///< of the body, from the centre of the frame
  double centre_y_px = 0;
  double radius_px = 60;        ///< sphere, sun
  double limb_darkening = 0.5;  ///< 0: none
  double phase_deg = 0;         ///< sphere: angle between the Sun and the observer
  double axis_deg = 15;         ///< sphere: turn of its axis
  double ring_inner = 0;        ///< in radii; 0: no ring
  double ring_outer = 0;
  double ring_opening_deg = 20;
  std::string cover = "bands";   ///< sphere without a map: bands, deserts
  double sun_altitude_deg = 25;  ///< surface
  double relief = 1;             ///< surface: steepness
  double detail = 0;             ///< surface: rms over the mean; 0: as relief and ground make it
  double separation_px = 12;     ///< stars
  double companion = 0.5;        ///< stars: brightness of the second
  double spots = 3;              ///< sun
  double largest_spot_px = 23;   ///< sun: radius
  double granule_px = 5;         ///< sun: distance of granules
  double prominences = 0;        ///< sun: loops beyond the limb
  double largest_prominence_px = 22;  ///< sun: radius
  double veil = 0;  ///< brightness of a ring of thin cloud around the body; 0: none
  double veil_radius_px = 90;
  double veil_width_px = 12;  ///< standard deviation
  SecondBody second = {};
  std::string planet = "jupiter";           ///< planet: tilt, phase and turn are its own
  std::string utc = "2026-11-30T04:00:00";  ///< of the truth, in the middle of the capture
  std::string clouds_utc = {};              ///< planet: when its clouds are where the drawing has
                                            ///< them; empty: utc. One for captures of a night
  double north_deg = 0;                     ///< clockwise from the top
  bool still = false;                       ///< all frames show the moment of the truth

  /// Its captures carry the time at which they were begun.
  [[nodiscard]] bool is_dated() const { return kind == "planet" || kind == "panel"; }

  [[nodiscard]] bool turns() const { return kind == "planet" && !still; }
};

struct TelescopeParameters {
  double aperture_m = 0.25;
  double obstruction = 0.33;     ///< share of the diameter
  double wavelength_m = 550e-9;  ///< reference, of mono captures and of green
  double bandwidth_m = 0;        ///< 0: one wavelength
  double pixel_scale_arcsec = 0.15;
  /// Static aberrations, rad rms of the reference wavelength, from Noll's mode 4 (defocus) on.
  std::vector<double> aberrations_rad = {};
};

/// One layer of the air, carried by its wind as a whole.
struct AirLayer {
  double height_m = 0;
  double share = 1;  ///< of the turbulence
  double wind_m_s = 5;
  double wind_deg = 0;
};

struct AirParameters {
  double d_over_r0 = 5;           ///< at the reference wavelength
  double d_over_r0_swing = 0.15;  ///< relative standard deviation of its slow changes
  double swing_s = 0.7;           ///< how long these last
  double slow_swing = 0;          ///< the same of gusts and calm, over minutes
  double slow_swing_s = 60;
  double outer_scale_m = 10;  ///< 0: none
  std::vector<AirLayer> layers = {{0, 0.55, 3, 20}, {900, 0.3, 8, 75}, {3500, 0.15, 14, 130}};
  double zenith_distance_deg = 0;  ///< for the dispersion between colours
  double pressure_mmhg = 680;
  double temperature_c = 10;
  double water_mmhg = 8;
  double zenith_direction_deg = 90;  ///< in the frame, from +x towards +y
  double cloud_swing = 0.02;         ///< relative standard deviation of the transparency
  double cloud_s = 0.7;              ///< how long its changes last

  /// D / r0 of a poor moment: two standard deviations above the mean.
  [[nodiscard]] double worst_d_over_r0() const;
};

struct MountParameters {
  double drift_x_px_s = 1;
  double drift_y_px_s = -0.5;
  double periodic_px = 2;
  double periodic_s = 4;
  double shake_px = 0.4;  ///< standard deviation
  double shake_hz = 3;
  double wander_px = 0;  ///< standard deviation of the slow errors of tracking, on each axis
  double wander_s = 10;  ///< how long these last
  double jumps_per_s = 0;
  double jump_px = 8;
  double gusts_per_s = 0;  ///< each shakes it for half a second
  double gust_px = 3;
  double rotation_deg_s = 0;
};

struct CameraParameters {
  double frames_per_s = 100;
  double exposure_s = 0.005;
  int bits = 8;
  int stored_bits = 8;           ///< 8 or 16
  std::string align = "low";     ///< low or high end of the stored word
  double peak_electrons = 8000;  ///< from the brightest place of the truth
  double gain_e_per_adu = 0;     ///< 0: that place reaches 80% of full scale
  double read_noise_e = 2;
  double offset_adu = 4;
  double dark_e_per_s = 5;
  double hot_share = 0;  ///< of the pixels
  double cold_share = 0;
  double column_noise_adu = 0;  ///< fixed pattern
  double row_noise_adu = 0;     ///< fixed pattern
  double row_flicker_adu = 0;   ///< of the rows, anew in each frame
  double vignetting = 0;        ///< loss in the corners
  int dust = 0;                 ///< shadows
  std::string colour = "mono";  ///< mono, rgb, or a mosaic: rggb, bggr, gbrg, grbg
  std::string filter = "none";  ///< before a mono camera: none, red, green, blue
  double red_m = 620e-9;
  double blue_m = 465e-9;
  bool interlaced = false;  ///< odd rows half a frame later
};

/// Shares of the frames with that fault.
struct FaultParameters {
  double dropped = 0;
  double doubled = 0;
  double black = 0;
  double cut_short = 0;
  double crossed = 0;  ///< by a bright track, as of a satellite, 2 px wide
  int copies = 1;      ///< each picture is stored so many times
};

/// What changes at one moment for good. The truth is that of the frames before.
struct ChangeParameters {
  double after = 0.5;         ///< share of the frames
  std::string turn = "none";  ///< none, half, left-right, up-down
  double light = 1;           ///< factor: exposure, or what a filter lets through
  double defocus_rad = 0;     ///< rad rms of the reference wavelength, besides what there is
  double wavelength_m = 0;    ///< of another filter; 0: as before
};

/// Everything that a capture follows from. The same parameters give the same bytes.
struct Parameters {
  std::string name = "capture";
  int width_px = 320;
  int height_px = 240;
  int frames = 300;
  std::uint64_t seed = 1;
  std::uint64_t recording = 0;    ///< another one of the same scene: air, mount and noise; 0: first
  std::string container = "mkv";  ///< mkv (FFV1), avi (raw, 8 bit), nut (raw)
  int calibration_frames = 0;     ///< of a dark and of a flat capture beside it
  SceneParameters scene;
  TelescopeParameters telescope;
  AirParameters air;
  MountParameters mount;
  CameraParameters camera;
  FaultParameters faults;
  ChangeParameters change;

  /// Cutoff of the optics D / lambda at the reference wavelength, cycles per frame pixel.
  [[nodiscard]] double cutoff_cycles_per_px() const;

  /// Wavelengths of the channels: one, or red, green, blue.
  [[nodiscard]] std::vector<double> wavelengths_m() const;

  /// The seed of what differs from recording to recording.
  [[nodiscard]] std::uint64_t recording_seed() const { return seed + 1000003 * recording; }

  /// The light of the scene that a channel sees: 0 red, 1 green, 2 blue.
  [[nodiscard]] std::size_t light_of(std::size_t channel) const;

  /// With the optics of after the change.
  [[nodiscard]] Parameters changed() const;
};

[[nodiscard]] nlohmann::json to_json(const Parameters& parameters);

/// Missing members keep their defaults. @throws UsageError for unknown members (naming the
/// nearest) and values of the wrong type.
[[nodiscard]] Parameters parameters_from(const nlohmann::json& json);

/// From a file of parameters, or from what a run wrote beside its capture.
/// @throws InputError, UsageError.
[[nodiscard]] Parameters read_parameters(const std::filesystem::path& path);

/// @throws UsageError saying which value makes no sense, and why.
void check(const Parameters& parameters);

}  // namespace lull::lab
