#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/parallel.h"
#include "lab/noise3.h"
#include "lab/random.h"
#include "lab/scene.h"

namespace lull::lab {

namespace {

constexpr double kSmallestCraterPx = 1.2;  // radius, in pixels of the frame
constexpr double kLargestCraterPx = 45;
constexpr double kCratersPerPx = 0.012;

struct Crater {
  double x = 0;
  double y = 0;
  double radius = 0;
  double depth = 0;  ///< in radii: old ones are shallow
};

// Height over the crater's radius at a distance of so many radii: a bowl, a rim, a skirt.
double profile(double r) {
  if (r < 1) return -1 + 1.25 * r * r;
  return 0.25 * std::exp(-(r - 1) * 4) * std::clamp((2.2 - r) / 1.2, 0.0, 1.0);
}

// Cumulative numbers fall with the square of the radius, as on old ground (Neukum, Ivanov &
// Hartmann 2001, Space Science Reviews 96, 55: exponents about -2 to -3).
std::vector<Crater> craters(const Canvas& canvas, std::uint64_t seed) {
  Random random({seed, key_of(Draw::scene), 1});
  const Size size = canvas.size();
  const double fine = canvas.fineness;
  const auto count =
      static_cast<int>(kCratersPerPx * static_cast<double>(size.area_px()) / (fine * fine));
  std::vector<Crater> out;
  for (int i = 0; i < count; ++i) {
    const double radius =
        std::min(kSmallestCraterPx / std::sqrt(random.uniform()), kLargestCraterPx);
    out.push_back({random.uniform(0, size.width_px), random.uniform(0, size.height_px),
                   radius * fine, random.uniform(0.08, 0.4)});
  }
  // Large ones first: small ones lie in them.
  std::sort(out.begin(), out.end(),
            [](const Crater& a, const Crater& b) { return a.radius > b.radius; });
  return out;
}

void dig(const Crater& crater, Plane& height) {
  const double reach = 2.2 * crater.radius;
  const int y1 = std::min(static_cast<int>(crater.y + reach) + 1, height.height());
  const int x1 = std::min(static_cast<int>(crater.x + reach) + 1, height.width());
  for (int y = std::max(static_cast<int>(crater.y - reach), 0); y < y1; ++y) {
    for (int x = std::max(static_cast<int>(crater.x - reach), 0); x < x1; ++x) {
      const double r = std::hypot(x - crater.x, y - crater.y) / crater.radius;
      if (r < 2.2)
        height.row(y)[x] += static_cast<float>(crater.depth * crater.radius * profile(r));
    }
  }
}

Plane relief(const Canvas& canvas, std::uint64_t seed) {
  Plane height(canvas.size());
  parallel_for(height.height(), [&](std::int64_t y) {
    float* row = height.row(static_cast<int>(y));
    for (int x = 0; x < height.width(); ++x) {
      const double u = x / (90.0 * canvas.fineness);
      const double v = static_cast<double>(y) / (90.0 * canvas.fineness);
      row[x] =
          static_cast<float>(6 * canvas.fineness * fractal_noise(u, v, 0.5, 7, 0.5, seed + 11));
    }
  });
  for (const Crater& crater : craters(canvas, seed)) dig(crater, height);
  return height;
}

// Brings the rms over the mean to what is asked for.
void set_detail(double rms, Plane& plane) {
  double sum = 0;
  double squares = 0;
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) {
      const auto light = static_cast<double>(plane.row(y)[x]);
      sum += light;
      squares += light * light;
    }
  }
  const auto count = static_cast<double>(plane.size().area_px());
  const double mean = sum / count;
  const double factor = rms * mean / std::sqrt(squares / count - mean * mean);
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) {
      float& light = plane.row(y)[x];
      light =
          static_cast<float>(std::max(mean + factor * (static_cast<double>(light) - mean), 0.0));
    }
  }
}

}  // namespace

Plane cratered_ground(const SceneParameters& scene, const Canvas& canvas, std::uint64_t seed) {
  const Plane height = relief(canvas, seed);
  Plane out(canvas.size());
  const double altitude = scene.sun_altitude_deg * std::numbers::pi / 180;
  const double sun_x = -std::cos(altitude);  // it is to the left
  const double sun_z = std::sin(altitude);
  parallel_for(out.height(), [&](std::int64_t row_number) {
    const int y = static_cast<int>(row_number);
    const float* above = height.row(std::max(y - 1, 0));
    const float* here = height.row(y);
    const float* below = height.row(std::min(y + 1, out.height() - 1));
    for (int x = 0; x < out.width(); ++x) {
      const int left = std::max(x - 1, 0);
      const int right = std::min(x + 1, out.width() - 1);
      const double gx = scene.relief * static_cast<double>(here[right] - here[left]) / 2;
      const double gy = scene.relief * static_cast<double>(below[x] - above[x]) / 2;
      const double lambert = (-gx * sun_x + sun_z) / std::sqrt(1 + gx * gx + gy * gy);
      const double u = x / (60.0 * canvas.fineness);
      const double v = y / (60.0 * canvas.fineness);
      const double albedo = 1 + 0.35 * fractal_noise(u, v, 7.5, 6, 0.6, seed + 23);
      out.row(y)[x] = static_cast<float>(std::max(lambert, 0.0) * std::max(albedo, 0.2) + 0.004);
    }
  });
  if (scene.detail > 0) set_detail(scene.detail, out);
  return out;
}

}  // namespace lull::lab
