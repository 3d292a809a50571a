#pragma once

#include <optional>
#include <vector>

#include "globe/derotate.h"

namespace lull::globe {

/// How a globe is laid out flat. Cylindrical: longitude and planetographic latitude as they are
/// (plate carree). The others show one half of the globe from above its pole, latitudes at equal
/// distances (zenithal equidistant). Calabretta & Greisen 2002, A&A 395, 1077: CAR and ARC.
enum class MapProjection { cylindrical, north_pole, south_pole };

/// A place on a globe, rad.
struct MapPlace {
  double latitude = 0;        ///< planetographic
  double east_longitude = 0;  ///< from the map's prime meridian, within [0, 2 pi)
};

/// The pixels of a map. North is up in the cylinder, east is right; the prime meridian is its left
/// edge. On the north pole's map the prime meridian runs down from the middle, on the south pole's
/// map up.
class MapGrid {
 public:
  /// @param pixels_per_degree  is changed so that the sides are whole numbers of pixels.
  MapGrid(MapProjection projection, double pixels_per_degree);

  [[nodiscard]] MapProjection projection() const { return projection_; }

  [[nodiscard]] double pixels_per_degree() const { return pixels_per_degree_; }

  [[nodiscard]] Size size() const;

  /// None beside the map.
  [[nodiscard]] std::optional<MapPlace> place_at(double x_px, double y_px) const;

 private:
  MapProjection projection_;
  double pixels_per_degree_;
};

/// The point of the surface, axes of the globe. @param east_longitude_rad  from its x axis.
[[nodiscard]] sky::Vector surface_point(double planetographic_latitude_rad,
                                        double east_longitude_rad, double axis_ratio);

/// A picture that goes into a map.
struct MapPicture {
  GlobePicture picture;
  std::vector<float> sky{};  ///< of each plane: beside the globe, taken off
  double least_cosine = 0;   ///< at the observer and the Sun: less is too near to the limb
};

/// From which cosine on samples lie two widths of the blur inside the limb; 0.15 at least.
[[nodiscard]] double least_map_cosine(double radius_px, double blur_px);

struct GlobeMapResult {
  std::vector<Plane> planes{};  ///< as if the Sun and the observer stood above each place
  /// How many pictures count at each place: 1 for one that shows it in the middle of its disc. 0:
  /// none shows it, and the planes are 0.
  Plane weight{};
};

/// Lays pictures of a turning globe out as a map of one moment and averages them. Their brightness
/// becomes that of the surface: it is divided by Minnaert's law. A sample counts as its brightness
/// allows (noise is divided, too), as the cosine at the observer, squared (detail is drawn out
/// towards the limb), and less and less towards the limb. It does not where rings hide or shade it.
class GlobeMap {
 public:
  /// @param prime_east_rad  where the map's prime meridian is: longitude in the axes of the
  /// pictures at the moment.
  GlobeMap(const MapGrid& grid, sky::Body body, double darkening, double prime_east_rad);

  /// All pictures have as many planes as the first; later_s is later than the map's moment.
  void add(const MapPicture& picture);

  [[nodiscard]] GlobeMapResult finish() const;

 private:
  void add_row(const MapPicture& picture, const std::vector<align::SplinePlane>& planes,
               const Plane& clear, int samples, int y);

  MapGrid grid_;
  sky::Body body_;
  double darkening_;
  double prime_east_rad_;
  std::vector<Plane> sums_;
  Plane weight_;
  double all_ = 0;
  int pictures_ = 0;
};

}  // namespace lull::globe
