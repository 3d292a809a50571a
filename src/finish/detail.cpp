#include "finish/detail.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "finish/atrous.h"

namespace lull::finish {

namespace {

constexpr int kPlanes = 5;
constexpr int kWiderThanFeature = 3;  // doublings of the size of a feature

// Standard deviation of unit white noise in each plane, from the impulse response of the
// transform; the table of Starck & Murtagh (0.8907 0.2007 0.0856 0.0413 0.0205) is simulated.
constexpr std::array<double, kPlanes> kWhiteNoise = {0.890796, 0.200664, 0.085508, 0.041217,
                                                     0.020425};

// Mean square of a wavelet plane around each pixel, over some of its features.
Plane power_around(const Plane& plane, int index) {
  Plane squares(plane.size());
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) squares.row(y)[x] = plane.row(y)[x] * plane.row(y)[x];
  }
  return atrous(squares.view(), index + kWiderThanFeature).smooth;
}

// Power of the noise in each plane, by place.
std::vector<Plane> noise_powers(const Noise& noise, const spectrum::Extended& canvas) {
  const Size size = canvas.plane.size();
  std::vector<Plane> out;
  if (const auto* sigma = std::get_if<double>(&noise)) {
    for (const double share : kWhiteNoise) {
      out.emplace_back(size).fill(static_cast<float>(*sigma * share * *sigma * share));
    }
    return out;
  }
  const Plane extended = spectrum::mirrored(std::get<PlaneView>(noise), size, canvas.inside);
  const AtrousPlanes planes = atrous(extended.view(), kPlanes);
  for (int j = 0; j < kPlanes; ++j)
    out.push_back(power_around(planes.planes[static_cast<std::size_t>(j)], j));
  return out;
}

// Share of the power that exceeds its noise.
Plane certain_share(const Plane& power, const Plane& noise) {
  Plane out(power.size());
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) {
      const float all = power.row(y)[x];
      out.row(y)[x] = all > 0 ? std::max(1.0F - noise.row(y)[x] / all, 0.0F) : 0.0F;
    }
  }
  return out;
}

// Adds the plane, and the filter's change of it as far as the plane exceeds its noise there.
void add_plane(PlaneView plane, PlaneView changed, PlaneView certain, float restraint, Plane& out) {
  for (int y = 0; y < plane.height_px; ++y) {
    const float* w = plane.row(y);
    const float* v = changed.row(y);
    float* to = out.row(y);
    for (int x = 0; x < plane.width_px; ++x)
      to[x] += w[x] + (v[x] - w[x]) * (1.0F - restraint * (1.0F - certain.row(y)[x]));
  }
}

Box moved(const Box& box, int x, int y) { return {box.x0 + x, box.y0 + y, box.x1 + x, box.y1 + y}; }

Box grown(const Box& box, int by) { return {box.x0 - by, box.y0 - by, box.x1 + by, box.y1 + by}; }

}  // namespace

Plane half_difference(PlaneView first, PlaneView second) {
  LULL_ASSERT(first.size() == second.size());
  Plane out(first.size());
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x)
      out.row(y)[x] = 0.5F * (first.row(y)[x] - second.row(y)[x]);
  }
  return out;
}

PreparedDetail::PreparedDetail(PlaneView picture, const Noise& noise)
    : canvas_(spectrum::continued(picture)) {
  planes_ = atrous(std::as_const(canvas_.plane).view(), kPlanes).planes;
  const std::vector<Plane> powers = noise_powers(noise, canvas_);
  for (int j = 0; j < kPlanes; ++j) {
    const auto i = static_cast<std::size_t>(j);
    certain_.push_back(certain_share(power_around(planes_[i], j), powers[i]));
  }
}

Plane PreparedDetail::restored(const std::vector<spectrum::FilterPoint>& gains, double restraint,
                               const Box& part) const {
  const Size size = canvas_.plane.size();
  const Box all = {0, 0, size.width_px, size.height_px};
  const Box on_canvas = moved(part, canvas_.inside.x0, canvas_.inside.y0);
  const bool is_whole = on_canvas == canvas_.inside;
  const Box around = is_whole ? all : grown(on_canvas, kReachPx).intersection(all);
  // The whole canvas closes on itself; a part of it is continued anew.
  spectrum::Extended sharp;
  if (is_whole) {
    sharp = {Plane::copy_of(canvas_.plane.view()), all};
  } else {
    sharp = spectrum::continued(canvas_.plane.view().crop(around));
  }
  spectrum::filter(sharp.plane, gains);
  AtrousPlanes after = atrous(std::as_const(sharp.plane).view().crop(sharp.inside), kPlanes);
  Plane out = std::move(after.smooth);
  for (std::size_t i = 0; i < planes_.size(); ++i) {
    add_plane(planes_[i].view().crop(around), after.planes[i].view(),
              certain_[i].view().crop(around), static_cast<float>(restraint), out);
  }
  return Plane::copy_of(std::as_const(out).view().crop(moved(on_canvas, -around.x0, -around.y0)));
}

Plane restore_detail(PlaneView picture, const std::vector<spectrum::FilterPoint>& gains,
                     const Noise& noise, double restraint) {
  return PreparedDetail(picture, noise)
      .restored(gains, restraint, {0, 0, picture.width_px, picture.height_px});
}

}  // namespace lull::finish
