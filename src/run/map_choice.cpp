#include "run/map_choice.h"

#include <fmt/format.h>

#include "core/error.h"
#include "files/picture_file.h"
#include "run/option_kinds.h"

namespace lull::run {

namespace {

constexpr double kCoarsest = 1;
constexpr double kFinest = 20;  // 7,200 x 3,600 px

std::optional<double> parse_scale(const std::string& text) {
  if (text == "auto") return std::nullopt;
  return number_within("--map-scale", text, {kCoarsest, kFinest, "pixels a degree"});
}

std::string scale_text(const std::optional<double>& pixels_per_degree) {
  return pixels_per_degree ? fmt::format("{}", *pixels_per_degree) : "auto";
}

}  // namespace

OptionTable<MapChoice> map_options() {
  using globe::MapProjection;
  using sky::LongitudeSystem;
  OptionTable<MapChoice> table = {file_option<MapChoice>(
      {.name = "--map",
       .value = "FILE",
       .group = OptionGroup::results,
       .help = "Join the stacks to a map of the surface (.fits, .tif); the stack of one moment is "
               "written only where -o asks for it"},
      &MapChoice::file)};
  table.push_back(word_option<MapChoice>({.name = "--projection",
                                          .value = "cylindrical|north-pole|south-pole",
                                          .group = OptionGroup::results,
                                          .help = "The whole globe by longitude and latitude, or "
                                                  "half of it from above a pole",
                                          .needs = {"--map"}},
                                         &MapChoice::projection,
                                         {{MapProjection::cylindrical, "cylindrical"},
                                          {MapProjection::north_pole, "north-pole"},
                                          {MapProjection::south_pole, "south-pole"}}));
  table.push_back(parsed_option<MapChoice>(
      {.name = "--map-scale",
       .value = "auto|PX",
       .group = OptionGroup::results,
       .help = "Pixels a degree, 1 to 20; auto: as in the middle of the largest disc",
       .needs = {"--map"}},
      &MapChoice::pixels_per_degree, parse_scale, scale_text));
  table.push_back(word_option<MapChoice>(
      {.name = "--system",
       .value = "1|2|3",
       .group = OptionGroup::results,
       .help = "System in which Jupiter's longitudes are counted on the map",
       .needs = {"--map"}},
      &MapChoice::system,
      {{LongitudeSystem::one, "1"}, {LongitudeSystem::two, "2"}, {LongitudeSystem::three, "3"}}));
  return table;
}

void check_map(const MapChoice& choice) {
  if (choice.file.empty()) return;
  if (files::format_of(choice.file) == files::Format::png)
    throw UsageError(
        fmt::format("--map: '{}' must end in .fits or .tif: a PNG has no place for a map's "
                    "coordinates",
                    choice.file));
}

void check_map(const MapChoice& choice, sky::Body body) {
  if (choice.file.empty() || body == sky::Body::jupiter ||
      choice.system == sky::LongitudeSystem::three)
    return;
  throw UsageError(
      fmt::format("--system {}: only Jupiter has more than one system; leave it out "
                  "for {}",
                  sky::number_of(choice.system), sky::body_title(body)));
}

}  // namespace lull::run
