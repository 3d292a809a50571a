#include <fmt/format.h>

#include <algorithm>

#include "core/choices.h"
#include "files/table_reader.h"
#include "profile/profile.h"
#include "profile/time_zone.h"

namespace lull::profile {

namespace {

using files::TableReader;
using files::TomlValue;

// The ranges of the options, run/instrument.cpp, hold here too.
constexpr files::Quantity kAperture = {"aperture_mm", 10, 20'000, "mm", "um", "m"};
constexpr files::Quantity kObstruction = {"obstruction", 0, 0.9};
constexpr files::Quantity kFocalLength = {"focal_length_mm", 10, 1e6, "mm", "um", "m"};
constexpr files::Quantity kPixel = {"pixel_um", 0.5, 100, "um", "nm", "mm"};
constexpr files::Quantity kWidth = {"width_px", 16, 65'536, "px"};
constexpr files::Quantity kHeight = {"height_px", 16, 65'536, "px"};
constexpr files::Quantity kGain = {"gain_e_per_adu", 1e-4, 1e4, "electrons a step"};
constexpr files::Quantity kReadNoise = {"read_noise_e", 0, 1000, "electrons"};
constexpr files::Quantity kWavelength = {"wavelength_nm", 200, 5000, "nm", "pm", "um"};
constexpr files::Quantity kBand = {"band_nm", 0.001, 2000, "nm"};
constexpr files::Quantity kLatitude = {"latitude_deg", -90, 90, "degrees"};
constexpr files::Quantity kLongitude = {"longitude_deg", -360, 360, "degrees"};
constexpr files::Quantity kSiteHeight = {"height_m", -500, 9000, "m", "mm", ""};
constexpr files::Quantity kSystem = {"system", 1, 3};
constexpr files::Quantity kStormLongitude = {"longitude_deg", 0, 360, "degrees"};
constexpr files::Quantity kDrift = {"drift_deg_per_day", -1000, 1000, "degrees a day"};

// Outside of these somebody mistook a unit: common practice, no source.
constexpr double kFastestRatio = 0.5;
constexpr double kSlowestRatio = 500;

/// The parts of a file, one after the other.
class Reading {
 public:
  Reading(const TomlValue& root, const std::filesystem::path& path)
      : path_(path),
        root_(root, path.string(), "",
              {"name", "optics", "camera", "filters", "site", "storms", "options", "calibration",
               "night"}) {}

  Profile profile() const {
    Profile out;
    out.path = path_.string();
    out.name = root_.text("name");
    if (out.name.empty()) out.name = path_.stem().string();
    if (const TomlValue* table = root_.table("optics")) out.optics = optics(*table);
    if (const TomlValue* table = root_.table("camera")) out.camera = camera(*table);
    if (const TomlValue* table = root_.table("site")) out.site = site(*table);
    add_filters(out);
    for (const TomlValue* table : root_.tables("storms")) out.storms.push_back(storm(*table));
    add_options(out);
    add_calibration(out);
    if (const TomlValue* table = root_.table("night")) {
      for (const TomlValue& name : reader(*table, "[night]", {"names"}).texts("names"))
        out.night.names.push_back({name.text, name.line});
    }
    return out;
  }

 private:
  [[nodiscard]] TableReader reader(const TomlValue& table, const std::string& name,
                                   const std::vector<std::string>& known) const {
    return {table, path_.string(), name, known};
  }

  [[nodiscard]] Optics optics(const TomlValue& table) const {
    const TableReader read =
        reader(table, "[optics]", {"aperture_mm", "obstruction", "focal_length_mm"});
    const Optics out = {read.required(kAperture), read.number(kObstruction).value_or(0),
                        read.required(kFocalLength)};
    const double ratio = out.focal_length_mm / out.aperture_mm;
    if (ratio < kFastestRatio || ratio > kSlowestRatio) {
      throw read.error(
          table.line, fmt::format("a focal length of {:g} mm for an aperture of {:g} mm is a focal "
                                  "ratio of {:.3g}; one of the two has another unit than mm",
                                  out.focal_length_mm, out.aperture_mm, ratio));
    }
    return out;
  }

  [[nodiscard]] Camera camera(const TomlValue& table) const {
    const TableReader read = reader(
        table, "[camera]",
        {"name", "pixel_um", "width_px", "height_px", "mosaic", "gain_e_per_adu", "read_noise_e"});
    return {.name = read.text("name"),
            .pixel_um = read.required(kPixel),
            .width_px = read.whole_number(kWidth),
            .height_px = read.whole_number(kHeight),
            .mosaic = read.text("mosaic"),
            .gain_e_per_adu = read.number(kGain),
            .read_noise_e = read.number(kReadNoise)};
  }

  [[nodiscard]] Site site(const TomlValue& table) const {
    const TableReader read =
        reader(table, "[site]", {"name", "latitude_deg", "longitude_deg", "height_m", "time_zone"});
    Site out = {.name = read.text("name"),
                .latitude_deg = read.required(kLatitude),
                .longitude_deg = read.required(kLongitude),
                .height_m = read.number(kSiteHeight).value_or(0),
                .time_zone = read.text("time_zone")};
    if (!out.time_zone.empty() && !is_time_zone(out.time_zone)) {
      throw read.error(table.find("time_zone")->line,
                       fmt::format("unknown time zone '{}'; give hours before UTC, such as +01:00, "
                                   "or a name of the zone database, such as Etc/UTC",
                                   out.time_zone));
    }
    return out;
  }

  void add_filters(Profile& out) const {
    const TomlValue* filters = root_.table("filters");
    if (filters == nullptr) return;
    for (const TomlValue& table : filters->inner) {
      const TableReader read = reader(table, fmt::format("[filters.{}]", table.key),
                                      {"wavelength_nm", "band_nm", "words"});
      Filter filter = {table.key, read.required(kWavelength), read.number(kBand), {}};
      for (const TomlValue& word : read.texts("words")) filter.words.push_back(word.text);
      for (const std::string& word : filter.words) require_new(out, read, table.line, word);
      require_new(out, read, table.line, filter.name);
      out.filters.push_back(std::move(filter));
    }
  }

  static void require_new(const Profile& out, const TableReader& read, int line,
                          const std::string& word) {
    if (const Filter* other = out.filter(word))
      throw read.error(line, fmt::format("'{}' means the filter {} already", word, other->name));
  }

  [[nodiscard]] Storm storm(const TomlValue& table) const {
    const TableReader read =
        reader(table, "[[storms]]",
               {"object", "name", "system", "longitude_deg", "date", "drift_deg_per_day"});
    Storm out = {.object = read.required_text("object"),
                 .name = read.required_text("name"),
                 .system = read.whole_number(kSystem).value_or(2),
                 .longitude_deg = read.required(kStormLongitude),
                 .date = read.date("date"),
                 .drift_deg_per_day = read.number(kDrift).value_or(0)};
    require_target(read, table.line, out.object, target_words());
    return out;
  }

  static void require_target(const TableReader& read, int line, const std::string& target,
                             const std::vector<std::string>& known) {
    if (std::find(known.begin(), known.end(), target) != known.end()) return;
    throw read.error(line, fmt::format("unknown target '{}'.{} Known: {}", target,
                                       did_you_mean(target, known), listed(known)));
  }

  void add_options(Profile& out) const {
    const TomlValue* targets = root_.table("options");
    if (targets == nullptr) return;
    std::vector<std::string> known = {"all"};
    known.insert(known.end(), target_words().begin(), target_words().end());
    for (const TomlValue& table : targets->inner) {
      const TableReader read = reader(table, fmt::format("[options.{}]", table.key), {});
      require_target(read, table.line, table.key, known);
      TargetOptions target = {table.key, {}};
      for (const TomlValue& value : table.inner) target.options.push_back(option(read, value));
      out.options.push_back(std::move(target));
    }
  }

  static OptionSetting option(const TableReader& read, const TomlValue& value) {
    OptionSetting out = {"--" + value.key, {}, value.line};
    const bool is_list = value.kind == TomlValue::Kind::list;
    const std::vector<TomlValue> all = is_list ? value.inner : std::vector<TomlValue>{value};
    for (const TomlValue& one : all) {
      if (one.kind == TomlValue::Kind::table || one.kind == TomlValue::Kind::list)
        throw read.error(value.line, fmt::format("'{}': this is no value of an option", value.key));
      out.values.push_back(one.text);
    }
    if (out.values.empty()) throw read.error(value.line, fmt::format("'{}' is empty", value.key));
    return out;
  }

  void add_calibration(Profile& out) const {
    const TomlValue* table = root_.table("calibration");
    if (table == nullptr) return;
    const TableReader read = reader(*table, "[calibration]", {"darks", "flats"});
    for (const TomlValue& one : read.texts("darks")) out.darks.push_back(beside(one.text));
    for (const TomlValue& one : read.texts("flats")) out.flats.push_back(beside(one.text));
  }

  [[nodiscard]] std::string beside(const std::string& name) const {
    return (path_.parent_path() / name).string();
  }

  std::filesystem::path path_;
  TableReader root_;
};

}  // namespace

Profile parse_profile(std::string_view text, const std::filesystem::path& path) {
  const TomlValue root = files::parse_toml(text, path.string());
  return Reading(root, path).profile();
}

Profile read_profile(const std::filesystem::path& path) {
  const TomlValue root = files::read_toml(path);
  return Reading(root, path).profile();
}

}  // namespace lull::profile
