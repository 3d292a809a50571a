#include "globe/globe_map.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "core/parallel.h"
#include "globe/rings.h"

namespace lull::globe {

namespace {

constexpr double kTurn = 2 * std::numbers::pi;
constexpr double kLeastCosine = 0.15;
constexpr double kBlurs = 2;       // from the limb
constexpr double kFadeOver = 0.3;  // of the cosine
constexpr int kMostSamples = 8;    // a side of a pixel of the map

}  // namespace

MapGrid::MapGrid(MapProjection projection, double pixels_per_degree) : projection_(projection) {
  // 90 degrees are a whole number of pixels: so the equator is the border of two rows.
  pixels_per_degree_ = std::max(1.0, std::round(90 * pixels_per_degree)) / 90;
}

Size MapGrid::size() const {
  const int half = static_cast<int>(std::lround(180 * pixels_per_degree_));
  return {projection_ == MapProjection::cylindrical ? 2 * half : half, half};
}

std::optional<MapPlace> MapGrid::place_at(double x_px, double y_px) const {
  const double step = sky::kDegree / pixels_per_degree_;
  const double x = (x_px + 0.5) * step;
  const double y = (y_px + 0.5) * step;
  const double quarter = kTurn / 4;
  if (projection_ == MapProjection::cylindrical) {
    if (x < 0 || x > kTurn || y < 0 || y > 2 * quarter) return std::nullopt;
    return MapPlace{quarter - y, x < kTurn ? x : 0};
  }
  const double right = x - quarter;
  const double down = y - quarter;
  const double from_pole = std::hypot(right, down);
  if (from_pole > quarter) return std::nullopt;
  // Seen from above the north pole, longitudes grow eastward against the clock.
  const bool north = projection_ == MapProjection::north_pole;
  const double turn = std::atan2(right, north ? down : -down);
  return MapPlace{north ? quarter - from_pole : from_pole - quarter,
                  turn < 0 ? turn + kTurn : turn};
}

sky::Vector surface_point(double planetographic_latitude_rad, double east_longitude_rad,
                          double axis_ratio) {
  const double c = std::cos(planetographic_latitude_rad);
  const double s = std::sin(planetographic_latitude_rad);
  const double q2 = axis_ratio * axis_ratio;
  const double scale = 1 / std::sqrt(c * c + q2 * s * s);
  return {{c * scale * std::cos(east_longitude_rad), c * scale * std::sin(east_longitude_rad),
           q2 * s * scale}};
}

double least_map_cosine(double radius_px, double blur_px) {
  const double inside = std::clamp(1 - kBlurs * blur_px / radius_px, 0.0, 1.0);
  return std::max(kLeastCosine, std::sqrt(1 - inside * inside));
}

GlobeMap::GlobeMap(const MapGrid& grid, sky::Body body, double darkening, double prime_east_rad)
    : grid_(grid),
      body_(body),
      darkening_(darkening),
      prime_east_rad_(prime_east_rad),
      weight_(grid.size()) {}

void GlobeMap::add(const MapPicture& picture) {
  const GlobePicture& given = picture.picture;
  while (sums_.size() < given.planes.size()) sums_.emplace_back(grid_.size());
  std::vector<align::SplinePlane> planes;
  planes.reserve(given.planes.size());
  for (const PlaneView& plane : given.planes) planes.emplace_back(plane);
  all_ += given.weight;
  ++pictures_;
  // Pixels of the map that are larger than those of the picture are means.
  const double per_degree = given.view.place().radius_px * sky::kDegree;
  const int samples = std::clamp(
      static_cast<int>(std::ceil(per_degree / grid_.pixels_per_degree() - 0.05)), 1, kMostSamples);
  const Plane clear =
      clear_of_rings(given.view, given.planes.front().size(), given.spread.width_px());
  parallel_for(grid_.size().height_px, [&](std::int64_t y) {
    add_row(picture, planes, clear, samples, static_cast<int>(y));
  });
}

void GlobeMap::add_row(const MapPicture& picture, const std::vector<align::SplinePlane>& planes,
                       const Plane& clear, int samples, int y) {
  const GlobePicture& given = picture.picture;
  const Size size = given.planes.front().size();
  const double axis_ratio = given.view.shape().axis_ratio;
  const double share = given.weight / (samples * samples);
  for (int x = 0; x < weight_.width(); ++x) {
    for (int i = 0; i < samples * samples; ++i) {
      const int column = i % samples;
      const int row = i / samples;
      const auto place =
          grid_.place_at(x + (column + 0.5) / samples - 0.5, y + (row + 0.5) / samples - 0.5);
      if (!place) continue;
      const double drifted = cloud_drift_rad_per_s(body_, place->latitude) * given.later_s;
      const auto at = given.view.shown(surface_point(
          place->latitude, place->east_longitude + prime_east_rad_ + drifted, axis_ratio));
      const double cosine = std::min(at.cos_observer, at.cos_sun);
      if (cosine <= picture.least_cosine || at.x_px < 0 || at.y_px < 0 ||
          at.x_px > size.width_px - 1 || at.y_px > size.height_px - 1)
        continue;
      const double light = minnaert(at.cos_sun, at.cos_observer, darkening_);
      const double part =
          share * light * light * at.cos_observer * at.cos_observer * clear_at(clear, at) *
          smooth_rise(cosine, picture.least_cosine, picture.least_cosine + kFadeOver);
      if (part <= 0) continue;
      const align::SplinePlace from(at.x_px, at.y_px);
      const auto on_light = static_cast<float>(part / light * given.gain);
      for (std::size_t p = 0; p < planes.size(); ++p)
        sums_[p].row(y)[x] += on_light * (planes[p].at(from) - picture.sky[p]);
      weight_.row(y)[x] += static_cast<float>(part);
    }
  }
}

GlobeMapResult GlobeMap::finish() const {
  GlobeMapResult out;
  out.weight = Plane::copy_of(weight_.view());
  for (const Plane& sum : sums_) {
    Plane& plane = out.planes.emplace_back(grid_.size());
    for (int y = 0; y < plane.height(); ++y) {
      for (int x = 0; x < plane.width(); ++x) {
        const float weight = weight_.row(y)[x];
        plane.row(y)[x] = weight > 0 ? sum.row(y)[x] / weight : 0;
      }
    }
  }
  if (all_ > 0) scale(out.weight.view(), static_cast<float>(pictures_ / all_));
  return out;
}

}  // namespace lull::globe
