#include "finish/detail.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "core/parallel.h"
#include "finish/atrous.h"

namespace lull::finish {

namespace {

constexpr int kPlanes = 5;
constexpr int kLeastToSplitPx = 400;  // a side of a part that is restored in two tiles
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

// Halves along the longer side, where each is large against its surroundings.
std::vector<Box> tiles_of(const Box& box) {
  if (std::max(box.width_px(), box.height_px()) < kLeastToSplitPx) return {box};
  Box first = box;
  Box second = box;
  if (box.width_px() >= box.height_px()) {
    first.x1 = second.x0 = box.x0 + box.width_px() / 2;
  } else {
    first.y1 = second.y0 = box.y0 + box.height_px() / 2;
  }
  return {first, second};
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

PreparedDetail::PreparedDetail(PlaneView picture, const Noise& noise)
    : canvas_(spectrum::continued(picture)) {
  planes_ = atrous(std::as_const(canvas_.plane).view(), kPlanes).planes;
  const std::vector<Plane> powers = noise_powers(noise, canvas_);
  for (int j = 0; j < kPlanes; ++j) {
    const auto i = static_cast<std::size_t>(j);
    certain_.push_back(certain_share(power_around(planes_[i], j), powers[i]));
  }
}

Plane PreparedDetail::restored(const std::vector<spectrum::FilterPoint>& gains,
                               const std::vector<PlaceGains>& places, double restraint,
                               const Box& part) const {
  const PlaneView canvas = canvas_.plane.view();
  std::vector<PlaceGains> raised = places;
  for (PlaceGains& place : raised)
    place.box = moved(place.box, canvas_.inside.x0, canvas_.inside.y0);
  const Size size = canvas_.plane.size();
  const Box all = {0, 0, size.width_px, size.height_px};
  const Box wanted = moved(part, canvas_.inside.x0, canvas_.inside.y0);
  if (wanted == canvas_.inside) {
    // The whole canvas closes on itself.
    Plane sharp = Plane::copy_of(canvas_.plane.view());
    spectrum::filter(sharp, gains);
    add_places(canvas, raised, sharp.view(), 0, 0);
    return sharpened(sharp.view(), all, wanted, restraint);
  }
  // Tiles are filtered side by side, each continued anew. They do not depend on the threads.
  const std::vector<Box> tiles = tiles_of(wanted);
  Plane out(part.width_px(), part.height_px());
  parallel_for(std::ssize(tiles), [&](std::int64_t i) {
    const Box& tile = tiles[static_cast<std::size_t>(i)];
    const Box around = grown(tile, kReachPx).intersection(all);
    spectrum::Extended sharp = spectrum::continued(canvas.crop(around));
    spectrum::filter(sharp.plane, gains);
    add_places(canvas, raised, sharp.plane.view().crop(sharp.inside), around.x0, around.y0);
    const Plane done =
        sharpened(std::as_const(sharp.plane).view().crop(sharp.inside), around, tile, restraint);
    for (int y = 0; y < done.height(); ++y) {
      std::copy_n(done.row(y), done.width(),
                  out.row(y + tile.y0 - wanted.y0) + tile.x0 - wanted.x0);
    }
  });
  return out;
}

// `sharp` is the filtered canvas over `around`, of which `wanted` is returned.
Plane PreparedDetail::sharpened(PlaneView sharp, const Box& around, const Box& wanted,
                                double restraint) const {
  AtrousPlanes after = atrous(sharp, kPlanes);
  Plane out = std::move(after.smooth);
  for (std::size_t i = 0; i < planes_.size(); ++i) {
    add_plane(planes_[i].view().crop(around), after.planes[i].view(),
              certain_[i].view().crop(around), static_cast<float>(restraint), out);
  }
  return Plane::copy_of(std::as_const(out).view().crop(moved(wanted, -around.x0, -around.y0)));
}

Plane restore_detail(PlaneView picture, const std::vector<spectrum::FilterPoint>& gains,
                     const Noise& noise, double restraint) {
  return PreparedDetail(picture, noise)
      .restored(gains, {}, restraint, {0, 0, picture.width_px, picture.height_px});
}

}  // namespace lull::finish
