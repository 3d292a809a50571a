#include "globe/derotate.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "align/spline_plane.h"
#include "core/parallel.h"

namespace lull::globe {

namespace {

constexpr double kSecondsPerDay = 86'400;
// Samples count from here on towards the middle, by the cosine at the observer.
constexpr double kNothing = 0.1;
constexpr double kAll = 0.5;
// The limb of the result is not turned: a pixel there shows tens of degrees of
// longitude.
constexpr double kLimb = 0.12;
constexpr double kInside = 0.3;
constexpr double kMostChange = 3;  // of the brightness of a sample

// From 0 at `low` to 1 at `high`, smoothly.
double rise(double value, double low, double high) {
  const double t = std::clamp((value - low) / (high - low), 0.0, 1.0);
  return t * t * (3 - 2 * t);
}

// A picture ready to be sampled.
struct Source {
  const GlobePicture* picture;
  std::vector<align::SplinePlane> planes;
  Size size;

  [[nodiscard]] bool holds(double x, double y) const {
    return x >= 0 && y >= 0 && x <= size.width_px - 1 && y <= size.height_px - 1;
  }
};

// Sums of one pixel, a value for each plane.
struct Sums {
  std::vector<double> values;
  double weight = 0;

  explicit Sums(std::size_t planes) : values(planes) {}

  void add(const Source& source, double x, double y, double sample_weight, double factor) {
    for (std::size_t p = 0; p < values.size(); ++p)
      values[p] += sample_weight * factor * source.picture->gain *
                   static_cast<double>(source.planes[p].at(x, y));
    weight += sample_weight;
  }

  [[nodiscard]] double mean(std::size_t plane) const {
    return weight > 0 ? values[plane] / weight : 0;
  }
};

class Turner {
 public:
  Turner(const std::vector<Source>& sources, const GlobeView& at_moment, sky::Body body,
         double darkening)
      : sources_(sources), at_moment_(at_moment), body_(body), darkening_(darkening) {}

  [[nodiscard]] Sums as_they_are(int x, int y) const {
    Sums sums(sources_.front().planes.size());
    const GlobeView::InPlane at = at_moment_.in_plane(x, y);
    for (const Source& source : sources_) {
      const auto shown = source.picture->view.shown_in_plane(at);
      if (source.holds(shown.x_px, shown.y_px))
        sums.add(source, shown.x_px, shown.y_px, source.picture->weight, 1);
    }
    return sums;
  }

  [[nodiscard]] Sums turned(const GlobeView::Seen& seen) const {
    Sums sums(sources_.front().planes.size());
    const double latitude = planetographic_latitude_rad(seen.point, at_moment_.shape().axis_ratio);
    const double drift = cloud_drift_rad_per_s(body_, latitude);
    const double light = minnaert(seen.cos_sun, seen.cos_observer, darkening_);
    for (const Source& source : sources_) {
      const auto shown =
          source.picture->view.shown(moved_east(seen.point, drift * source.picture->later_s));
      const double weight = source.picture->weight *
                            rise(std::min(shown.cos_observer, shown.cos_sun), kNothing, kAll);
      if (weight <= 0 || !source.holds(shown.x_px, shown.y_px)) continue;
      const double change = light / minnaert(shown.cos_sun, shown.cos_observer, darkening_);
      sums.add(source, shown.x_px, shown.y_px, weight, std::min(change, kMostChange));
    }
    return sums;
  }

 private:
  const std::vector<Source>& sources_;
  const GlobeView& at_moment_;
  sky::Body body_;
  double darkening_;
};

std::vector<Source> sources_of(const std::vector<GlobePicture>& pictures) {
  std::vector<Source> out(pictures.size());
  for (std::size_t i = 0; i < pictures.size(); ++i) {
    out[i].picture = &pictures[i];
    out[i].size = pictures[i].planes.front().size();
    for (const PlaneView& plane : pictures[i].planes) out[i].planes.emplace_back(plane);
  }
  return out;
}

}  // namespace

double cloud_drift_rad_per_s(sky::Body body, double planetographic_latitude_rad) {
  if (body != sky::Body::jupiter) return 0;
  constexpr double kOne_deg_per_day = 877.900 - 870.536;
  constexpr double kTwo_deg_per_day = 870.270 - 870.536;
  const double latitude = std::abs(planetographic_latitude_rad) / sky::kDegree;
  const double two = rise(latitude, 8, 12);
  return (two * kTwo_deg_per_day + (1 - two) * kOne_deg_per_day) * sky::kDegree / kSecondsPerDay;
}

Derotated derotate(const std::vector<GlobePicture>& pictures, const GlobeView& at_moment, Size size,
                   sky::Body body, double darkening) {
  const std::vector<Source> sources = sources_of(pictures);
  const Turner turner(sources, at_moment, body, darkening);
  double all = 0;
  for (const GlobePicture& picture : pictures) all += picture.weight;
  Derotated out;
  out.share = Plane(size);
  for (std::size_t p = 0; p < pictures.front().planes.size(); ++p) out.planes.emplace_back(size);
  parallel_for(size.height_px, [&](std::int64_t row) {
    const int y = static_cast<int>(row);
    for (int x = 0; x < size.width_px; ++x) {
      const auto seen = at_moment.seen_at(x, y);
      double globe = seen ? rise(std::min(seen->cos_observer, seen->cos_sun), kLimb, kInside) : 0;
      std::optional<Sums> turned;
      if (globe > 0) turned.emplace(turner.turned(*seen));
      if (!turned || turned->weight <= 0) globe = 0;
      std::optional<Sums> plain;
      if (globe < 1) plain.emplace(turner.as_they_are(x, y));
      const auto mixed = [&](auto&& of) {
        return (globe > 0 ? globe * of(*turned) : 0) + (globe < 1 ? (1 - globe) * of(*plain) : 0);
      };
      for (std::size_t p = 0; p < out.planes.size(); ++p)
        out.planes[p].row(y)[x] =
            static_cast<float>(mixed([p](const Sums& sums) { return sums.mean(p); }));
      out.share.row(y)[x] =
          static_cast<float>(mixed([all](const Sums& sums) { return sums.weight / all; }));
    }
  });
  return out;
}

}  // namespace lull::globe
