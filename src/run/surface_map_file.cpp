#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <limits>
#include <string>

#include "files/fits.h"
#include "files/picture_file.h"
#include "files/tiff.h"
#include "run/surface_map.h"

namespace lull::run {

namespace {

constexpr double kMetres = 1000;

// "JU" of JULN, the longitude on Jupiter.
std::string axis_letters(sky::Body body) {
  std::string letters(sky::body_name(body).substr(0, 2));
  std::transform(letters.begin(), letters.end(), letters.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return letters;
}

// Where north is up; longitudes of most planets grow westward, which is left. LONPOLE 180 lets the
// prime meridian run down from the north pole, and up from the south pole.
std::vector<files::Card> coordinate_cards(const SurfaceMap& map) {
  const std::string letters = axis_letters(map.body);
  const bool flat = map.grid.projection() == globe::MapProjection::cylindrical;
  const std::string kind = flat ? "CAR" : "ARC";
  const bool east = sky::longitude_sense(map.body) == sky::LongitudeSense::east;
  const double step_deg = 1 / map.grid.pixels_per_degree();
  const Size size = map.grid.size();
  const double pole = map.grid.projection() == globe::MapProjection::north_pole ? 90.0 : -90.0;
  const sky::Globe globe = sky::globe_of(map.body);
  std::vector<files::Card> cards = {
      {"WCSAXES", std::int64_t{2}, "axes of the coordinates"},
      {"CTYPE1", letters + "LN-" + kind, "planetographic longitude"},
      {"CTYPE2", letters + "LT-" + kind, "planetographic latitude"},
      {"CUNIT1", std::string("deg"), "unit of longitude"},
      {"CUNIT2", std::string("deg"), "unit of latitude"},
      {"CRPIX1", 0.5 * size.width_px + 0.5, "[px] reference place; first pixel: 1"},
      {"CRPIX2", 0.5 * size.height_px + 0.5, "[px] reference place; top row: 1"},
      {"CRVAL1", flat ? 180.0 : 0.0, "[deg] longitude there"},
      {"CRVAL2", flat ? 0.0 : pole, "[deg] latitude there"},
      {"CDELT1", (east ? 1 : -1) * step_deg, "[deg] a pixel to the right"},
      {"CDELT2", -step_deg, "[deg] a pixel down"},
      {"PC1_1", 1.0, "axes are not turned: as where none is stated,"},
      {"PC1_2", 0.0, "but GDAL 3.6 needs it"},
      {"PC2_1", 0.0, ""},
      {"PC2_2", 1.0, ""}};
  if (!flat) cards.push_back({"LONPOLE", 180.0, "[deg] turns the prime meridian down or up"});
  cards.push_back({"A_RADIUS", kMetres * globe.equatorial_km, "[m] equatorial radius"});
  cards.push_back({"B_RADIUS", kMetres * globe.equatorial_km, "[m] equatorial radius"});
  cards.push_back({"C_RADIUS", kMetres * globe.polar_km, "[m] polar radius"});
  return cards;
}

std::string projection_text(const SurfaceMap& map) {
  switch (map.grid.projection()) {
    case globe::MapProjection::cylindrical:
      return "cylindrical (plate carree), longitude 0 at the left edge, north up";
    case globe::MapProjection::north_pole:
      return "zenithal equidistant about the north pole, longitude 0 down from it";
    default:
      return "zenithal equidistant about the south pole, longitude 0 up from it";
  }
}

std::string description(const SurfaceMap& map) {
  const bool east = sky::longitude_sense(map.body) == sky::LongitudeSense::east;
  const std::string system =
      map.body == sky::Body::jupiter ? fmt::format("System {}, ", sky::number_of(map.system)) : "";
  return fmt::format(
      "Map of {} from {} {}, {} to {} UTC\n"
      "{}; {:.4g} pixels a degree\n"
      "planetographic latitudes, longitudes {}positive {}, at {} UTC\n"
      "limb darkening of Minnaert's law with k = {:.3f} was divided out\n",
      sky::body_title(map.body), map.stacks, map.stacks == 1 ? "stack" : "stacks",
      iso8601(map.from, 0), iso8601(map.to, 0), projection_text(map), map.grid.pixels_per_degree(),
      system, east ? "eastward" : "westward", iso8601(map.moment, 0), map.darkening);
}

files::Metadata metadata_of(const SurfaceMap& map) {
  files::Metadata metadata;
  metadata.description = description(map);
  metadata.cards = coordinate_cards(map);
  std::vector<files::Card>& cards = metadata.cards;
  const bool east = sky::longitude_sense(map.body) == sky::LongitudeSense::east;
  cards.push_back({"OBJECT", std::string(sky::body_title(map.body)), "what the map shows"});
  cards.push_back({"TIMESYS", std::string("UTC"), "time scale of dates"});
  cards.push_back({"DATE-AVG", iso8601(map.moment, 6), "moment at which longitudes hold"});
  cards.push_back({"DATE-BEG", iso8601(map.from, 6), "of the earliest stack"});
  cards.push_back({"DATE-END", iso8601(map.to, 6), "of the latest stack"});
  cards.push_back({"LONSENSE", std::string(east ? "east" : "west"), "longitudes grow this way"});
  if (map.body == sky::Body::jupiter)
    cards.push_back(
        {"LONSYS", std::int64_t{sky::number_of(map.system)}, "system of the longitudes"});
  cards.push_back({"MINNAERT", map.darkening, "k of the limb darkening that was divided out"});
  cards.push_back({"NSTACKS", static_cast<std::int64_t>(map.stacks), "stacks joined"});
  return metadata;
}

void write_fits_map(const std::filesystem::path& path, const SurfaceMap& map) {
  const auto unseen_is_nan = [&map](const std::vector<Plane>& planes) {
    files::Picture out;
    for (const Plane& plane : planes) {
      Plane& copy = out.channels.emplace_back(Plane::copy_of(plane.view()));
      for (int y = 0; y < copy.height(); ++y) {
        for (int x = 0; x < copy.width(); ++x) {
          if (!(map.weight.row(y)[x] > 0)) copy.row(y)[x] = std::numeric_limits<float>::quiet_NaN();
        }
      }
    }
    return out;
  };
  const files::Picture channels = unseen_is_nan(map.channels);
  const files::Picture noise = unseen_is_nan(map.noise);
  files::FitsParts parts;
  parts.images.push_back({"NOISE", "half the difference of the half stacks: noise of the map",
                          noise.view(), coordinate_cards(map)});
  parts.images.push_back({"WEIGHT",
                          "stacks that count at each place; 0: it was not seen",
                          {{map.weight.view()}},
                          coordinate_cards(map)});
  files::write_fits_float(path, channels.view(), metadata_of(map), parts);
}

void write_tiff_map(const std::filesystem::path& path, const SurfaceMap& map) {
  float brightest = 0;
  files::PictureView picture;
  for (const Plane& plane : map.channels) {
    picture.channels.push_back(plane.view());
    for (int y = 0; y < plane.height(); ++y)
      brightest =
          std::max(brightest, *std::max_element(plane.row(y), plane.row(y) + plane.width()));
  }
  const files::Encoding encoding{0, brightest > 0 ? static_cast<double>(brightest) : 1.0};
  files::write_tiff16_alpha(path, picture, encoding, metadata_of(map), map.weight.view());
}

}  // namespace

void write_surface_map(const std::filesystem::path& path, const SurfaceMap& map) {
  if (files::format_of(path) == files::Format::fits) {
    write_fits_map(path, map);
  } else {
    write_tiff_map(path, map);
  }
}

}  // namespace lull::run
