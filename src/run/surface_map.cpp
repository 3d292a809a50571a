#include "run/surface_map.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/statistics.h"
#include "globe/map_gains.h"
#include "globe/rings.h"

namespace lull::run {

namespace {

constexpr double kMostPixelsPerDegree = 20;
constexpr double kBesideGlobe = 1.3;  // of the radius
constexpr double kBesideRings = 0.1;  // of theirs

double pixels_per_degree(const std::vector<GlobeStack>& stacks, const MapChoice& choice) {
  if (choice.pixels_per_degree) return *choice.pixels_per_degree;
  double radius_px = 0;
  for (const GlobeStack& stack : stacks)
    radius_px = std::max(radius_px, stack.sight.limb.place.radius_px);
  return std::clamp(radius_px * sky::kDegree, 1.0, kMostPixelsPerDegree);
}

// Moons beside the globe do not count.
float sky_beside(const Plane& plane, const globe::GlobeView& view) {
  const globe::GlobePlace& place = view.place();
  std::vector<float> values;
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) {
      if (std::hypot(x - place.x_px, y - place.y_px) > kBesideGlobe * place.radius_px &&
          globe::is_beside_rings(view, x, y, kBesideRings))
        values.push_back(plane.row(y)[x]);
    }
  }
  return values.empty() ? 0 : upper_median(std::move(values));
}

// Channels, then their noise.
globe::MapPicture map_picture(const GlobeStack& stack, Utc moment, double brightness) {
  const globe::LimbFit& limb = stack.sight.limb;
  globe::MapPicture out{globe_picture(stack, moment, brightness),
                        {},
                        globe::least_map_cosine(limb.place.radius_px, limb.blur_px)};
  for (const Plane& plane : stack.input.picture.channels)
    out.sky.push_back(sky_beside(plane, stack.sight.view()));
  out.sky.resize(out.picture.planes.size());
  return out;
}

// Where longitudes of a system begin, in the axes of the globe at a moment: those of System III.
double prime_east_rad(sky::Body body, sky::LongitudeSystem system, Utc moment) {
  const sky::Observer observer(moment);
  const double west_deg =
      sky::central_meridian_deg(body, observer) - sky::central_meridian_deg(body, observer, system);
  return (sky::longitude_sense(body) == sky::LongitudeSense::east ? 1 : -1) * west_deg *
         sky::kDegree;
}

}  // namespace

SurfaceMap surface_map(const std::vector<GlobeStack>& stacks, const MapChoice& choice,
                       sky::Body body, Utc moment, double darkening, double brightness) {
  SurfaceMap out{globe::MapGrid(choice.projection, pixels_per_degree(stacks, choice)),
                 body,
                 choice.system,
                 moment,
                 stacks.front().sight.moment,
                 stacks.front().sight.moment,
                 darkening};
  out.stacks = stacks.size();
  std::vector<globe::MapPicture> pictures;
  pictures.reserve(stacks.size());
  for (const GlobeStack& stack : stacks) {
    pictures.push_back(map_picture(stack, moment, brightness));
    if (seconds_between(stack.sight.moment, out.from) > 0) out.from = stack.sight.moment;
    if (seconds_between(out.to, stack.sight.moment) > 0) out.to = stack.sight.moment;
  }
  const std::vector<double> gains = globe::matched_gains(pictures, body, darkening);
  globe::GlobeMap map(out.grid, body, darkening, prime_east_rad(body, choice.system, moment));
  for (std::size_t i = 0; i < pictures.size(); ++i) {
    pictures[i].picture.gain = gains[i];
    map.add(pictures[i]);
  }
  globe::GlobeMapResult joined = map.finish();
  const std::size_t channels = stacks.front().input.picture.channels.size();
  for (std::size_t p = 0; p < joined.planes.size(); ++p)
    (p < channels ? out.channels : out.noise).push_back(std::move(joined.planes[p]));
  out.weight = std::move(joined.weight);
  return out;
}

double SurfaceMap::seen_share() const {
  double seen = 0;
  double all = 0;
  for (int y = 0; y < weight.height(); ++y) {
    for (int x = 0; x < weight.width(); ++x) {
      const auto place = grid.place_at(x, y);
      if (!place) continue;
      // Degrees of longitude get shorter towards the pole, where the polar map draws them apart.
      const double across = std::cos(place->latitude);
      const double area = grid.projection() == globe::MapProjection::cylindrical
                              ? across
                              : across / (0.5 * std::numbers::pi - std::abs(place->latitude));
      all += area;
      if (weight.row(y)[x] > 0) seen += area;
    }
  }
  return all > 0 ? seen / all : 0;
}

}  // namespace lull::run
