#include "globe/same_face.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace lull::globe {

namespace {

constexpr double kInside = 0.7;    // of the radius
constexpr double kCoarse_px = 40;  // radius at which pictures are compared
constexpr double kClearly = 0.2;   // in correlation

std::vector<double> detail_of(const Plane& plane, const GlobeView& view, double darkening) {
  std::vector<double> values;
  double sum = 0;
  const GlobePlace& place = view.place();
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) {
      const bool inside = std::hypot(x - place.x_px, y - place.y_px) < kInside * place.radius_px;
      const auto seen = inside ? view.seen_at(x, y) : std::nullopt;
      const double light = seen ? minnaert(seen->cos_sun, seen->cos_observer, darkening) : 0;
      if (light <= 0) continue;
      values.push_back(static_cast<double>(plane.row(y)[x]) / light);
      sum += values.back();
    }
  }
  for (double& value : values) value -= sum / static_cast<double>(values.size());
  return values;
}

GlobePicture turned_about(GlobePicture picture) {
  GlobePlace place = picture.view.place();
  place.pole_clockwise_rad += std::numbers::pi;
  picture.view = GlobeView(picture.view.shape(), place);
  return picture;
}

}  // namespace

double likeness(const GlobePicture& reference, const GlobePicture& other, sky::Body body,
                double darkening) {
  GlobePlace place = reference.view.place();
  place.radius_px = std::min(place.radius_px, kCoarse_px);
  place.x_px = place.y_px = std::ceil(place.radius_px) + 1;
  const int side = static_cast<int>(2 * place.x_px) + 1;
  const GlobeView view(reference.view.shape(), place);
  const auto detail = [&](GlobePicture picture) {
    picture.later_s -= reference.later_s;
    picture.planes.resize(1);
    const Derotated at = derotate({picture}, view, {side, side}, body, darkening);
    return detail_of(at.planes[0], view, darkening);
  };
  const std::vector<double> a = detail(reference);
  const std::vector<double> b = detail(other);
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

bool is_upside_down(const GlobePicture& reference, const GlobePicture& other, sky::Body body,
                    double darkening) {
  const double as_it_is = likeness(reference, other, body, darkening);
  const double turned = likeness(reference, turned_about(other), body, darkening);
  return turned > as_it_is + kClearly;
}

}  // namespace lull::globe
