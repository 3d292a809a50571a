#include "finish/detail.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "finish/atrous.h"
#include "spectrum/continuation.h"

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

// Adds the plane, and the filter's change of it as far as the plane exceeds its noise there.
void add_plane(const Plane& plane, const Plane& changed, const Plane& power, const Plane& noise,
               float restraint, Plane& out) {
  for (int y = 0; y < plane.height(); ++y) {
    const float* w = plane.row(y);
    const float* v = changed.row(y);
    float* to = out.row(y);
    for (int x = 0; x < plane.width(); ++x) {
      const float all = power.row(y)[x];
      const float certain = all > 0 ? std::max(1.0F - noise.row(y)[x] / all, 0.0F) : 0.0F;
      to[x] += w[x] + (v[x] - w[x]) * (1.0F - restraint * (1.0F - certain));
    }
  }
}

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

Plane restore_detail(PlaneView picture, const std::vector<spectrum::FilterPoint>& gains,
                     const Noise& noise, double restraint) {
  const spectrum::Extended canvas = spectrum::continued(picture);
  Plane sharp = Plane::copy_of(canvas.plane.view());
  spectrum::filter(sharp, gains);
  const AtrousPlanes before = atrous(canvas.plane.view(), kPlanes);
  AtrousPlanes after = atrous(std::as_const(sharp).view(), kPlanes);
  const std::vector<Plane> powers = noise_powers(noise, canvas);
  Plane out = std::move(after.smooth);
  for (int j = 0; j < kPlanes; ++j) {
    const auto i = static_cast<std::size_t>(j);
    add_plane(before.planes[i], after.planes[i], power_around(before.planes[i], j), powers[i],
              static_cast<float>(restraint), out);
  }
  return Plane::copy_of(std::as_const(out).view().crop(canvas.inside));
}

}  // namespace lull::finish
