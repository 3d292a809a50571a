#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/parallel.h"
#include "lab/noise3.h"
#include "lab/random.h"
#include "lab/scene.h"

namespace lull::lab {

namespace {

constexpr double kUmbra = 0.2;  // brightness over that of the disc
constexpr double kPenumbra = 0.75;

struct Spot {
  double x = 0;  ///< px of the frame
  double y = 0;
  double radius = 0;
};

// Spots are placed where the frame shows the disc.
std::vector<Spot> spots(const SceneParameters& scene, const Canvas& canvas, std::uint64_t seed) {
  Random random({seed, key_of(Draw::scene), 2});
  std::vector<Spot> out;
  const double cx = 0.5 * canvas.width_px + scene.centre_x_px;
  const double cy = 0.5 * canvas.height_px + scene.centre_y_px;
  for (int tries = 0; tries < 1000 && out.size() < static_cast<std::size_t>(scene.spots); ++tries) {
    const Spot spot{random.uniform(0.1, 0.9) * canvas.width_px,
                    random.uniform(0.1, 0.9) * canvas.height_px,
                    5 + (scene.largest_spot_px - 5) * random.uniform() * random.uniform()};
    if (std::hypot(spot.x - cx, spot.y - cy) < 0.85 * scene.radius_px) out.push_back(spot);
  }
  return out;
}

// Share of the disc's brightness that a spot leaves at a place.
double darkening(const Spot& spot, double x, double y, std::uint64_t seed) {
  // Its ragged edge lies within 1.15 / (1 - 0.18 x 2.2) radii.
  if (std::hypot(x - spot.x, y - spot.y) > 2 * spot.radius) return 1;
  const double angle = std::atan2(y - spot.y, x - spot.x);
  const double ragged =
      0.18 * fractal_noise(2 * std::cos(angle), 2 * std::sin(angle), spot.x, 4, 0.6, seed + 5);
  const double r = std::hypot(x - spot.x, y - spot.y) / spot.radius * (1 + ragged);
  if (r > 1.15) return 1;
  // Filaments run outwards through the penumbra.
  const double filament =
      0.12 * lattice_noise(9 * std::cos(angle), 9 * std::sin(angle), 1.5 * r, seed + 6);
  const auto step = [](double low, double high, double t) {
    const double s = std::clamp((t - low) / (high - low), 0.0, 1.0);
    return s * s * (3 - 2 * s);
  };
  const double inner = kUmbra + (kPenumbra + filament - kUmbra) * step(0.38, 0.5, r);
  return inner + (1 - inner) * step(0.95, 1.15, r);
}

// Bright cells between dark lanes: the distance to the nearest of scattered points.
double granulation(double x, double y, double granule_px, std::uint64_t seed) {
  const double u = x / granule_px;
  const double v = y / granule_px;
  double nearest = 9;
  double second = 9;
  for (int j = -1; j <= 1; ++j) {
    for (int i = -1; i <= 1; ++i) {
      const double cx = std::floor(u) + i;
      const double cy = std::floor(v) + j;
      const double px = cx + 0.5 + 0.45 * lattice_noise(cx, cy, 0, seed + 31);
      const double py = cy + 0.5 + 0.45 * lattice_noise(cx, cy, 0, seed + 32);
      const double d = std::hypot(u - px, v - py);
      second = std::min(second, std::max(nearest, d));
      nearest = std::min(nearest, d);
    }
  }
  return 0.14 * std::min(second - nearest, 0.6) - 0.04;
}

// A loop of gas that stands on the limb, seen from the side.
struct Prominence {
  double angle_rad = 0;  ///< of its foot, around the centre of the disc
  double radius_px = 0;
  double light = 0;  ///< over that of the disc's centre
};

// Loops stand where the frame shows the limb with room above it.
std::vector<Prominence> prominences(const SceneParameters& scene, const Canvas& canvas,
                                    std::uint64_t seed) {
  Random random({seed, key_of(Draw::scene), 4});
  std::vector<Prominence> out;
  const double cx = 0.5 * canvas.width_px + scene.centre_x_px;
  const double cy = 0.5 * canvas.height_px + scene.centre_y_px;
  for (int tries = 0; tries < 100000 && static_cast<double>(out.size()) < scene.prominences;
       ++tries) {
    const double angle = random.uniform(-std::numbers::pi, std::numbers::pi);
    const double radius = random.uniform(8, scene.largest_prominence_px);
    const double top = scene.radius_px + 1.3 * radius;
    const double x = (cx + top * std::cos(angle)) / canvas.width_px;
    const double y = (cy + top * std::sin(angle)) / canvas.height_px;
    if (std::min(x, y) < 0.05 || std::max(x, y) > 0.95) continue;
    out.push_back({angle, radius, random.uniform(0.1, 0.3)});
  }
  return out;
}

// Light of a loop at a height above the limb and so far along it: threads around an arch.
double glow(const Prominence& one, double along_px, double height_px, std::uint64_t seed) {
  constexpr double kThick = 0.16;  // of the radius
  const double r = std::hypot(along_px, height_px) / one.radius_px;
  if (r > 1 + 4 * kThick) return 0;
  const double threads =
      fractal_noise(along_px / 4, height_px / 4, one.radius_px, 4, 0.6, seed + 34);
  const double off = (r - 1 + 0.1 * threads) / kThick;
  return one.light * std::exp(-0.5 * off * off) * std::clamp(0.7 + 0.6 * threads, 0.05, 1.0);
}

}  // namespace

Plane solar_disc(const SceneParameters& scene, const Canvas& canvas, std::uint64_t seed) {
  const auto all = spots(scene, canvas, seed);
  const auto loops = prominences(scene, canvas, seed);
  Plane out(canvas.size());
  const double cx = 0.5 * (canvas.width_px - 1) + scene.centre_x_px;
  const double cy = 0.5 * (canvas.height_px - 1) + scene.centre_y_px;
  parallel_for(out.height(), [&](std::int64_t row_number) {
    const double y = canvas.to_frame(static_cast<double>(row_number));
    float* row = out.row(static_cast<int>(row_number));
    for (int i = 0; i < out.width(); ++i) {
      const double x = canvas.to_frame(i);
      const double distance = std::hypot(x - cx, y - cy);
      const double covered = std::clamp(scene.radius_px - distance + 0.5, 0.0, 1.0);
      if (covered < 1) {
        const double angle = std::atan2(y - cy, x - cx);
        double beyond = 0;
        for (const Prominence& one : loops) {
          const double along = std::remainder(angle - one.angle_rad, 2 * std::numbers::pi);
          beyond += glow(one, along * distance, distance - scene.radius_px, seed);
        }
        row[i] = static_cast<float>((1 - covered) * beyond);
      }
      if (covered <= 0) continue;
      const double r = std::min(distance / scene.radius_px, 1.0);
      const double mu = std::sqrt(1 - r * r);
      double light = 1 - scene.limb_darkening * (1 - mu);
      light *= 1 + granulation(x, y, scene.granule_px, seed) * std::min(1.0, 3 * mu) +
               0.03 * fractal_noise(x / 40, y / 40, 0, 3, 0.5, seed + 33);
      for (const Spot& spot : all) light *= darkening(spot, x, y, seed);
      row[i] += static_cast<float>(covered * light);
    }
  });
  return out;
}

}  // namespace lull::lab
