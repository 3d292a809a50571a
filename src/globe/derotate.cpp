#include "globe/derotate.h"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "core/parallel.h"
#include "globe/rings.h"

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
constexpr double kMostChange = 3;         // of the brightness of a sample
constexpr double kLeastStillness = 1e-3;  // so that each place is shown by some picture

// How much a picture counts where its detail has moved by so many widths of the blur.
double stillness(double widths) {
  return std::max(kLeastStillness, std::exp(-0.5 * widths * widths));
}

// Places at the edges of the picture that no stack reaches are given what is beside them: sky goes
// on as it is there.
void continue_row(const float* share, int width, float* row) {
  const auto shown = [](float value) { return value > 0; };
  const auto first = std::find_if(share, share + width, shown) - share;
  if (first == width) return;
  auto last = static_cast<std::ptrdiff_t>(width) - 1;
  while (!shown(share[last])) --last;
  std::fill(row, row + first, row[first]);
  std::fill(row + last + 1, row + width, row[last]);
}

void continue_rows(const Plane& share, std::vector<Plane>& planes) {
  const int height = share.height();
  const auto is_shown = [&](int y) {
    return std::any_of(share.row(y), share.row(y) + share.width(), [](float s) { return s > 0; });
  };
  int first = 0;
  while (first < height && !is_shown(first)) ++first;
  if (first == height) return;
  int last = height - 1;
  while (!is_shown(last)) --last;
  const auto copy = [&](int from, int to) {
    for (Plane& plane : planes) std::copy_n(plane.row(from), share.width(), plane.row(to));
  };
  for (int y = 0; y < first; ++y) copy(first, y);
  for (int y = last + 1; y < height; ++y) copy(last, y);
}

}  // namespace

double cloud_drift_rad_per_s(sky::Body body, double planetographic_latitude_rad) {
  if (body != sky::Body::jupiter) return 0;
  constexpr double kOneDegPerDay = 877.900 - 870.536;
  constexpr double kTwoDegPerDay = 870.270 - 870.536;
  const double latitude = std::abs(planetographic_latitude_rad) / sky::kDegree;
  const double two = smooth_rise(latitude, 8, 12);
  return (two * kTwoDegPerDay + (1 - two) * kOneDegPerDay) * sky::kDegree / kSecondsPerDay;
}

Derotation::Derotation(const GlobeView& at_moment, Size size, sky::Body body, double darkening,
                       const LightSpread& spread)
    : at_moment_(at_moment), size_(size), darkening_(darkening) {
  limb_ = std::make_shared<const SpreadLimb>(at_moment.place().radius_px, darkening, spread);
  turned_.weight = Plane(size);
  plain_.weight = Plane(size);
  const Plane clear = clear_of_rings(at_moment, size, spread.width_px());
  std::vector<Spot> spots(static_cast<std::size_t>(size.area_px()));
  parallel_for(size.height_px, [&](std::int64_t y) {
    Spot* spot = &spots[static_cast<std::size_t>(y * size.width_px)];
    for (int x = 0; x < size.width_px; ++x, ++spot) {
      *spot = {};
      const auto seen = at_moment.seen_at(x, static_cast<double>(y));
      if (!seen) continue;
      for (std::size_t i = 0; i < 3; ++i) spot->point[i] = static_cast<float>(seen->point.at[i]);
      const double latitude =
          planetographic_latitude_rad(seen->point, at_moment.shape().axis_ratio);
      spot->drift = static_cast<float>(cloud_drift_rad_per_s(body, latitude));
      spot->light = static_cast<float>(minnaert(seen->cos_sun, seen->cos_observer, darkening) *
                                       limb_->left(seen->cos_observer));
      spot->globe = static_cast<float>(
          smooth_rise(std::min(seen->cos_observer, seen->cos_sun), kLimb, kInside));
      if (clear.empty()) continue;
      const float part = clear.row(static_cast<int>(y))[x];
      spot->globe *= part;
      spot->border = part < 1 && !is_changed_by_rings(at_moment, x, static_cast<double>(y));
    }
  });
  spots_ = std::make_shared<const std::vector<Spot>>(std::move(spots));
}

Derotation Derotation::like() const {
  Derotation out;
  out.at_moment_ = at_moment_;
  out.size_ = size_;
  out.darkening_ = darkening_;
  out.limb_ = limb_;
  out.spots_ = spots_;
  out.turned_.weight = Plane(size_);
  out.plain_.weight = Plane(size_);
  return out;
}

void Derotation::add(const GlobePicture& picture) {
  while (turned_.planes.size() < picture.planes.size()) {
    turned_.planes.emplace_back(size_);
    plain_.planes.emplace_back(size_);
  }
  std::vector<align::SplinePlane> planes;
  planes.reserve(picture.planes.size());
  for (const PlaneView& plane : picture.planes) planes.emplace_back(plane);
  all_ += picture.weight;
  const Plane clear =
      clear_of_rings(picture.view, picture.planes.front().size(), picture.spread.width_px());
  parallel_for(size_.height_px,
               [&](std::int64_t y) { add_row(picture, planes, clear, static_cast<int>(y)); });
}

void Derotation::add_row(const GlobePicture& picture, const std::vector<align::SplinePlane>& planes,
                         const Plane& clear, int y) {
  const Size size = picture.planes.front().size();
  const auto add_to = [&](Sums& sums, int x, const GlobeView::Shown& at, double weight,
                          double factor) {
    if (at.x_px < 0 || at.y_px < 0 || at.x_px > size.width_px - 1 || at.y_px > size.height_px - 1)
      return false;
    const align::SplinePlace place(at.x_px, at.y_px);
    const auto on_light = static_cast<float>(weight * factor * picture.gain);
    for (std::size_t p = 0; p < planes.size(); ++p)
      sums.planes[p].row(y)[x] += on_light * planes[p].at(place);
    sums.weight.row(y)[x] += static_cast<float>(weight);
    return true;
  };
  const Spot* spot = first_spot(y);
  for (int x = 0; x < size_.width_px; ++x, ++spot) {
    bool seen = false;
    const bool others = !picture.is_reference && !kept_.empty();
    const double counts = others ? 1 - static_cast<double>(kept_.row(y)[x]) : 1;
    if (counts <= 0) continue;
    const auto as_it_is = picture.view.shown_in_plane(at_moment_.in_plane(x, y));
    double still = 1;
    if (spot->globe > 0 || spot->border) {
      const sky::Vector point{{static_cast<double>(spot->point[0]),
                               static_cast<double>(spot->point[1]),
                               static_cast<double>(spot->point[2])}};
      const double drifted = static_cast<double>(spot->drift) * picture.later_s;
      const auto shown = picture.view.shown(drifted == 0 ? point : moved_east(point, drifted));
      const double weight =
          counts * picture.weight * clear_at(clear, shown) *
          smooth_rise(std::min(shown.cos_observer, shown.cos_sun), kNothing, kAll);
      if (spot->border)
        still = stillness(std::hypot(shown.x_px - as_it_is.x_px, shown.y_px - as_it_is.y_px) /
                          picture.spread.width_px());
      if (weight > 0 && spot->globe > 0) {
        const double change = static_cast<double>(spot->light) /
                              (minnaert(shown.cos_sun, shown.cos_observer, darkening_) *
                               limb_->left(shown.cos_observer));
        seen = add_to(turned_, x, shown, weight, std::min(change, kMostChange));
      }
    }
    if (seen && spot->globe >= 1) continue;
    add_to(plain_, x, as_it_is, counts * still * picture.weight, 1);
  }
}

Derotated Derotation::finish() const {
  Derotated out;
  out.share = Plane(size_);
  for (std::size_t p = 0; p < turned_.planes.size(); ++p) out.planes.emplace_back(size_);
  parallel_for(size_.height_px, [&](std::int64_t row) {
    const int y = static_cast<int>(row);
    const Spot* spot = first_spot(y);
    for (int x = 0; x < size_.width_px; ++x, ++spot) {
      const auto turned = turned_.weight.row(y)[x];
      const auto plain = plain_.weight.row(y)[x];
      const float globe = turned > 0 ? spot->globe : 0;
      const float of_turned = turned > 0 ? globe / turned : 0;
      const float of_plain = globe < 1 && plain > 0 ? (1 - globe) / plain : 0;
      for (std::size_t p = 0; p < out.planes.size(); ++p) {
        out.planes[p].row(y)[x] =
            of_turned * turned_.planes[p].row(y)[x] + of_plain * plain_.planes[p].row(y)[x];
      }
      out.share.row(y)[x] = (globe * turned + (1 - globe) * plain) / static_cast<float>(all_);
    }
    for (Plane& plane : out.planes) continue_row(out.share.row(y), size_.width_px, plane.row(y));
  });
  continue_rows(out.share, out.planes);
  return out;
}

Derotated derotate(const std::vector<GlobePicture>& pictures, const Derotation& nothing,
                   Plane kept) {
  Derotation derotation = nothing.like();
  derotation.keep_from_reference(std::move(kept));
  for (const GlobePicture& picture : pictures) derotation.add(picture);
  return derotation.finish();
}

}  // namespace lull::globe
