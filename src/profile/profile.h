#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace lull::profile {

/// The telescope.
struct Optics {
  double aperture_mm = 0;
  double obstruction = 0;      ///< diameter of what stands in its middle, of the aperture
  double focal_length_mm = 0;  ///< effective, with extenders
};

struct Camera {
  std::string name{};
  double pixel_um = 0;
  std::optional<int> width_px{};
  std::optional<int> height_px{};
  std::string mosaic{};  ///< as --cfa takes it; empty: not stated
  std::optional<double> gain_e_per_adu{};
  std::optional<double> read_noise_e{};
};

struct Filter {
  std::string name;
  double wavelength_nm = 550;
  std::optional<double> band_nm{};   ///< full width at half maximum
  std::vector<std::string> words{};  ///< other spellings in the names of captures
};

/// A place on Earth, geodetic.
struct Site {
  std::string name{};
  double latitude_deg = 0;   ///< north is positive
  double longitude_deg = 0;  ///< east is positive
  double height_m = 0;
  std::string time_zone{};  ///< "+01:00", or a name of the zone database; empty: not stated
};

/// Something on a turning globe whose longitude the observer knows.
struct Storm {
  std::string object;
  std::string name;
  int system = 2;  ///< of longitudes
  double longitude_deg = 0;
  std::string date{};  ///< when it stood there, ISO 8601; empty: not stated
  double drift_deg_per_day = 0;
};

/// A text of the file, and its line for messages.
struct Line {
  std::string text;
  int number = 0;
};

/// An option of the command line, as the profile gives it.
struct OptionSetting {
  std::string name;  ///< "--keep"
  std::vector<std::string> values;
  int line = 0;
};

/// The options for one target, or for all.
struct TargetOptions {
  std::string target;  ///< a word of --object, or "all"
  std::vector<OptionSetting> options;
};

/// What belongs to a night: see night/rules.h.
struct Night {
  std::vector<Line> names;  ///< patterns of file names
};

/// All that a file says of an instrument. Units and ranges are checked, options only by run.
struct Profile {
  std::string path{};
  std::string name{};
  std::optional<Optics> optics{};
  std::optional<Camera> camera{};
  std::vector<Filter> filters{};
  std::optional<Site> site{};
  std::vector<Storm> storms{};
  std::vector<TargetOptions> options{};
  std::vector<std::string> darks{};  ///< files and folders
  std::vector<std::string> flats{};
  Night night{};

  /// The filter of that name or spelling, in any case of letters; null: none.
  [[nodiscard]] const Filter* filter(const std::string& name) const;

  /// The options for that target, those for all first, then those for planets.
  [[nodiscard]] std::vector<OptionSetting> options_for(const std::string& target) const;
};

/// Angle of a pixel on the sky, arcsec; none where optics or camera are not stated.
[[nodiscard]] std::optional<double> scale_arcsec_per_px(const Profile& profile);

/// @throws InputError with file and line: unknown key, value of another kind or out of range.
[[nodiscard]] Profile read_profile(const std::filesystem::path& path);

/// The same of a text. @param path  for messages; relative paths in it begin in its folder.
[[nodiscard]] Profile parse_profile(std::string_view text, const std::filesystem::path& path);

/// The words for targets, as --object takes them.
[[nodiscard]] const std::vector<std::string>& target_words();

}  // namespace lull::profile
