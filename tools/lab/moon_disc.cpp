#include "lab/moon_disc.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <vector>

#include "core/parallel.h"
#include "lab/noise3.h"
#include "lab/random.h"

namespace lull::lab {

namespace {

constexpr double kSmallestCraterPx = 1.2;  // radius
constexpr double kCratersPerPx = 0.012;
constexpr double kCraterReach = 2.2;    // radii
constexpr double kSimpleCraterPx = 15;  // larger ones are shallower for their size
constexpr double kFlatCraterPx = 40;    // larger ones have a flat floor
constexpr double kEarthshine = 0.004;
constexpr double kSoftPx = 0.7;  // of the edge of a shadow
constexpr int kBand = 128;       // rows or columns worked on together

struct Direction {
  double x = 0;
  double y = 0;
  double z = 0;  ///< towards the observer
};

// How dark a place is as a mare: 0 highlands, 1 mare.
double mare_at(const Direction& d, std::uint64_t seed) {
  const double n = fractal_noise(1.7 * d.x, 1.7 * d.y, 1.7 * d.z, 4, 0.5, seed + 41);
  const double t = std::clamp((n - 0.02) / 0.18, 0.0, 1.0);
  return t * t * (3 - 2 * t);
}

struct Crater {
  Direction at;
  double radius_px = 0;
  double depth = 0;  ///< in radii
};

// Height over the crater's radius at a distance of so many radii.
double profile(double r, bool flat) {
  if (r < 1) return std::max(-1 + 1.25 * r * r, flat ? -0.6 : -1.0);
  return 0.25 * std::exp(-(r - 1) * 4) * std::clamp((kCraterReach - r) / 1.2, 0.0, 1.0);
}

// Cumulative numbers as in scene_ground. Maria are younger: they have fewer, and few large ones.
std::vector<Crater> craters(double radius_px, std::uint64_t seed) {
  Random random({seed, key_of(Draw::scene), 5});
  const auto count = static_cast<int>(kCratersPerPx * 2 * std::numbers::pi * radius_px * radius_px);
  std::vector<Crater> out;
  out.reserve(static_cast<std::size_t>(count));
  for (int i = 0; i < count; ++i) {
    const double z = random.uniform();
    const double around = random.uniform(0, 2 * std::numbers::pi);
    const double radius = std::min(kSmallestCraterPx / std::sqrt(random.uniform()), radius_px / 12);
    const double depth = random.uniform(0.08, 0.4);
    const double kept = random.uniform();
    const double flat = std::sqrt(1 - z * z);
    const Direction at{flat * std::cos(around), flat * std::sin(around), z};
    const double in_mare = radius < 3 ? 0.6 : 0.15;
    if (kept > 1 - (1 - in_mare) * mare_at(at, seed)) continue;
    out.push_back({at, radius, depth * std::sqrt(std::min(kSimpleCraterPx / radius, 1.0))});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Crater& a, const Crater& b) { return a.radius_px > b.radius_px; });
  return out;
}

}  // namespace

// Heights and albedo of all of it: what a moment's light is made of.
class MoonGround::Relief {
 public:
  Relief(Size scene, const SceneDisc& disc, std::uint64_t seed)
      : disc_(disc), seed_(seed), albedo_(scene), height_(scene) {
    const auto all = craters(disc_.radius_px, seed_);
    parallel_for((height_.height() + kBand - 1) / kBand, [&](std::int64_t band) {
      const int y0 = static_cast<int>(band) * kBand;
      raise(y0, std::min(y0 + kBand, height_.height()), all);
    });
  }

  [[nodiscard]] Plane light(const Box& part, double phase_deg) const {
    Plane out(part.width_px(), part.height_px());
    const double phase = phase_deg * std::numbers::pi / 180;
    const Sun sun{std::sin(phase), std::cos(phase)};
    parallel_for((part.width_px() + kBand - 1) / kBand, [&](std::int64_t band) {
      const int x0 = part.x0 + static_cast<int>(band) * kBand;
      shine(sun, part, x0, std::min(x0 + kBand, part.x1), out);
    });
    return out;
  }

 private:
  struct Sun {
    double sin_phase = 0;
    double cos_phase = 1;
  };

  // On the globe, or with z < 0 beside it.
  [[nodiscard]] Direction direction(int x, int y) const {
    const double u = (x - disc_.centre.x_px) / disc_.radius_px;
    const double v = (y - disc_.centre.y_px) / disc_.radius_px;
    const double rest = 1 - u * u - v * v;
    return {u, v, rest > 0 ? std::sqrt(rest) : -1};
  }

  // Albedo and heights of some rows, px.
  void raise(int y0, int y1, const std::vector<Crater>& all) {
    const double hills = disc_.radius_px / 90;
    const double grain = disc_.radius_px / 60;
    for (int y = y0; y < y1; ++y) {
      float* row = height_.row(y);
      for (int x = 0; x < height_.width(); ++x) {
        const Direction d = direction(x, y);
        if (d.z < 0) continue;
        const double mare = mare_at(d, seed_);
        row[x] =
            static_cast<float>((6 - 3.5 * mare) * fractal_noise(hills * d.x, hills * d.y,
                                                                hills * d.z, 7, 0.5, seed_ + 11));
        const double albedo =
            (1 - 0.45 * mare) *
            (1 + 0.22 * fractal_noise(grain * d.x, grain * d.y, grain * d.z, 6, 0.6, seed_ + 23));
        const double rim = disc_.radius_px * (1 - std::hypot(d.x, d.y)) + 0.5;
        albedo_.row(y)[x] = static_cast<float>(std::max(albedo, 0.2) * std::clamp(rim, 0.0, 1.0));
      }
    }
    for (const Crater& crater : all) dig(crater, y0, y1);
  }

  void dig(const Crater& crater, int y0, int y1) {
    const double reach = kCraterReach * crater.radius_px;
    const double cx = disc_.centre.x_px + disc_.radius_px * crater.at.x;
    const double cy = disc_.centre.y_px + disc_.radius_px * crater.at.y;
    const int top = std::max(static_cast<int>(cy - reach), y0);
    const int bottom = std::min(static_cast<int>(cy + reach) + 1, y1);
    const int left = std::max(static_cast<int>(cx - reach), 0);
    const int right = std::min(static_cast<int>(cx + reach) + 1, height_.width());
    const double radii = disc_.radius_px / crater.radius_px;
    const bool flat = crater.radius_px > kFlatCraterPx;
    for (int y = top; y < bottom; ++y) {
      float* row = height_.row(y);
      for (int x = left; x < right; ++x) {
        const Direction d = direction(x, y);
        if (d.z < 0) continue;
        const double dx = d.x - crater.at.x;
        const double dy = d.y - crater.at.y;
        const double dz = d.z - crater.at.z;
        const double r = radii * std::sqrt(dx * dx + dy * dy + dz * dz);
        if (r < kCraterReach)
          row[x] += static_cast<float>(crater.depth * crater.radius_px * profile(r, flat));
      }
    }
  }

  // Light of a place without shadows, by the law of Lommel and Seeliger (Hapke 2012, Theory of
  // Reflectance and Emittance Spectroscopy, 2nd ed., ch. 8) on the slopes of the relief.
  [[nodiscard]] double shaded(const Sun& sun, const Direction& d, int x, int y) const {
    const float* here = height_.row(y);
    const float* above = height_.row(std::max(y - 1, 0));
    const float* below = height_.row(std::min(y + 1, height_.height() - 1));
    const int left = std::max(x - 1, 0);
    const int right = std::min(x + 1, height_.width() - 1);
    const double gx = static_cast<double>(here[right] - here[left]) / 2;
    const double gy = static_cast<double>(below[x] - above[x]) / 2;
    // The slope along the surface: that in the picture without its part along the radius.
    const double radial = gx * d.x + gy * d.y;
    const Direction n{d.x - gx + radial * d.x, d.y - gy + radial * d.y, d.z + radial * d.z};
    const double length = std::sqrt(n.x * n.x + n.y * n.y + n.z * n.z);
    const double incidence = std::max((-n.y * sun.sin_phase + n.z * sun.cos_phase) / length, 0.0);
    const double emission = std::max(n.z / length, 0.12);
    return static_cast<double>(albedo_.row(y)[x]) *
           (0.5 * incidence / (incidence + emission) + kEarthshine);
  }

  // Some columns of a part. Rays run upwards in the picture, so that a place is in the shadow of
  // what lies above it in its column, also above the part, and reaches higher across the rays.
  void shine(const Sun& sun, const Box& part, int x0, int x1, Plane& out) const {
    std::vector<double> highest(static_cast<std::size_t>(x1 - x0),
                                -std::numeric_limits<double>::infinity());
    for (int y = 0; y < part.y1; ++y) {
      for (int x = x0; x < x1; ++x) {
        const Direction d = direction(x, y);
        if (d.z < 0) continue;
        const double across = (disc_.radius_px + static_cast<double>(height_.row(y)[x])) *
                              (d.y * sun.cos_phase + d.z * sun.sin_phase);
        double& before = highest[static_cast<std::size_t>(x - x0)];
        const double lit = std::clamp(1 + (across - before) / kSoftPx, 0.0, 1.0);
        before = std::max(before, across);
        if (y < part.y0) continue;
        out.row(y - part.y0)[x - part.x0] =
            static_cast<float>(shaded(sun, d, x, y) * std::max(lit, kEarthshine));
      }
    }
  }

  SceneDisc disc_;
  std::uint64_t seed_;
  Plane albedo_;
  Plane height_;
};

MoonGround::MoonGround(Size scene, const SceneDisc& disc, std::uint64_t seed)
    : relief_(std::make_unique<const Relief>(scene, disc, seed)) {}

MoonGround::~MoonGround() = default;

Plane MoonGround::light(const Box& part, double phase_deg) const {
  return relief_->light(part, phase_deg);
}

}  // namespace lull::lab
