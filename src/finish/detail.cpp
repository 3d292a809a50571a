#include "finish/detail.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "finish/atrous.h"

namespace lull::finish {

namespace {

constexpr int kPlanes = 5;
constexpr int kWiderThanFeature = 3;  // doublings of the size of a feature
constexpr double kLost = 0.05;  // correlation, beyond the resolution, from which on nothing passes

double wiener_gain(const stack::FrcCurve::Ring& ring, const Blur& blur) {
  const double f = std::clamp(ring.correlation, 0.0, 1.0);
  return 2 * f / (1 + f) / blur.transfer(ring.frequency);
}

// Half of the difference of the halves: the noise of the whole stack, without its signal.
Plane half_difference(PlaneView first, PlaneView second) {
  Plane out(first.size());
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x)
      out.row(y)[x] = 0.5F * (first.row(y)[x] - second.row(y)[x]);
  }
  return out;
}

// Mean square of a wavelet plane around each pixel, over some of its features.
Plane power_around(const Plane& plane, int index) {
  Plane squares(plane.size());
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) squares.row(y)[x] = plane.row(y)[x] * plane.row(y)[x];
  }
  return atrous(squares.view(), index + kWiderThanFeature).smooth;
}

// Adds the plane, and what the filter changes in it in so far as it stands out of the noise there.
void add_plane(const Plane& plane, const Plane& changed, const Plane& power, const Plane& noise,
               Plane& out) {
  for (int y = 0; y < plane.height(); ++y) {
    const float* w = plane.row(y);
    const float* v = changed.row(y);
    float* to = out.row(y);
    for (int x = 0; x < plane.width(); ++x) {
      const float all = power.row(y)[x];
      const float certain = all > 0 ? std::max(1.0F - noise.row(y)[x] / all, 0.0F) : 0.0F;
      to[x] += w[x] + (v[x] - w[x]) * certain;
    }
  }
}

}  // namespace

std::vector<FilterPoint> wiener_filter(const stack::FrcCurve& frc, const Blur& blur) {
  const std::optional<double> resolution = frc.resolution();
  std::vector<FilterPoint> points = {{0, 1}};
  if (!resolution) return points;
  bool lost = false;
  for (const auto& ring : frc.rings) {
    lost = lost || (ring.frequency > *resolution && ring.correlation < kLost);
    points.push_back({ring.frequency, lost ? 0 : wiener_gain(ring, blur)});
  }
  return points;
}

DetailResult restore_detail(PlaneView picture, const StackEvidence& evidence) {
  std::vector<FilterPoint> gains = wiener_filter(evidence.frc, evidence.blur);
  if (!evidence.frc.resolution()) return {Plane::copy_of(picture), std::move(gains)};
  const Plane sharp = filtered(picture, gains);
  const AtrousPlanes before = atrous(picture, kPlanes);
  AtrousPlanes after = atrous(sharp.view(), kPlanes);
  const Plane difference = half_difference(evidence.first_half, evidence.second_half);
  const AtrousPlanes noise = atrous(difference.view(), kPlanes);
  Plane out = std::move(after.smooth);
  for (int j = 0; j < kPlanes; ++j) {
    const auto i = static_cast<std::size_t>(j);
    add_plane(before.planes[i], after.planes[i], power_around(before.planes[i], j),
              power_around(noise.planes[i], j), out);
  }
  return {std::move(out), std::move(gains)};
}

}  // namespace lull::finish
