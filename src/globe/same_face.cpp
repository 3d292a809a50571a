#include "globe/same_face.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>
#include <vector>

#include "core/reduced.h"

namespace lull::globe {

namespace {

constexpr double kInside = 0.7;    // of the radius
constexpr double kCoarse_px = 40;  // radius at which pictures are compared
constexpr double kClearly = 0.2;   // in correlation
constexpr double kNearby = 0.16;   // of the radius

GlobeView small_view(const Face& face) {
  GlobePlace place = face.place;
  place.radius_px = std::min(place.radius_px, kCoarse_px);
  place.pole_clockwise_rad = 0;
  place.mirrored = false;
  place.x_px = place.y_px = std::ceil(place.radius_px) + 1;
  return {face.shape, place};
}

Size size_of(const GlobeView& view) {
  const int side = static_cast<int>(2 * view.place().x_px) + 1;
  return {side, side};
}

double correlation(const std::vector<double>& a, const std::vector<double>& b) {
  double ab = 0;
  double aa = 0;
  double bb = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    ab += a[i] * b[i];
    aa += a[i] * a[i];
    bb += b[i] * b[i];
  }
  return aa > 0 && bb > 0 ? ab / std::sqrt(aa * bb) : 0;
}

}  // namespace

Face face_of(PlaneView light, const GlobeShape& shape, const GlobePlace& place, double later_s) {
  const int factor = std::max(1, static_cast<int>(place.radius_px / kCoarse_px));
  return {std::make_shared<const Plane>(reduced(light, factor)), shape, place.in_pixels_of(factor),
          later_s};
}

Face turned_about(Face face) {
  face.place.pole_clockwise_rad += std::numbers::pi;
  return face;
}

FaceComparison::FaceComparison(const Face& reference, sky::Body body, double darkening)
    : reference_s_(reference.later_s),
      view_(small_view(reference)),
      darkening_(darkening),
      nothing_(view_, size_of(view_), body, darkening),
      spots_(spots()),
      detail_(detail_of(reference)) {}

std::vector<FaceComparison::Spot> FaceComparison::spots() const {
  std::vector<Spot> spots;
  const GlobePlace& place = view_.place();
  const Size size = size_of(view_);
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) {
      if (std::hypot(x - place.x_px, y - place.y_px) > kInside * place.radius_px) continue;
      const auto seen = view_.seen_at(x, y);
      const double light = seen ? minnaert(seen->cos_sun, seen->cos_observer, darkening_) : 0;
      if (light <= 0) continue;
      spots.push_back({x, y, light});
    }
  }
  return spots;
}

std::vector<double> FaceComparison::detail_of(const Face& face) const {
  Derotation one = nothing_.like();
  one.add({face.view(), face.later_s - reference_s_, 1, 1, {face.light->view()}});
  const Plane plane = std::move(one.finish().planes.front());
  std::vector<double> values;
  values.reserve(spots_.size());
  double sum = 0;
  for (const Spot& spot : spots_) {
    values.push_back(static_cast<double>(plane.row(spot.y)[spot.x]) / spot.light);
    sum += values.back();
  }
  for (double& value : values) value -= sum / static_cast<double>(values.size());
  return values;
}

std::vector<double> FaceComparison::features_of(const std::vector<double>& detail) const {
  const double reach = kNearby * view_.place().radius_px;
  std::vector<double> out;
  out.reserve(detail.size());
  std::size_t first = 0;
  std::size_t end = 0;
  double sum = 0;
  for (const Spot& spot : spots_) {
    const auto is_before = [&](const Spot& other) {
      return other.y < spot.y || other.x < spot.x - reach;
    };
    const auto is_near = [&](const Spot& other) {
      return other.y < spot.y || (other.y == spot.y && other.x <= spot.x + reach);
    };
    for (; end < spots_.size() && is_near(spots_[end]); ++end) sum += detail[end];
    for (; first < end && is_before(spots_[first]); ++first) sum -= detail[first];
    out.push_back(detail[out.size()] - sum / static_cast<double>(end - first));
  }
  return out;
}

double FaceComparison::likeness(const Face& other) const {
  return correlation(detail_, detail_of(other));
}

double FaceComparison::likeness_of_features(const Face& other) const {
  return correlation(features_of(detail_), features_of(detail_of(other)));
}

bool FaceComparison::is_upside_down(const Face& other) const {
  return likeness(turned_about(other)) > likeness(other) + kClearly;
}

}  // namespace lull::globe
