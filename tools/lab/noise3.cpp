#include "lab/noise3.h"

#include <cmath>
#include <initializer_list>

namespace lull::lab {

namespace {

double lattice(std::int64_t x, std::int64_t y, std::int64_t z, std::uint64_t seed) {
  std::uint64_t h = seed;
  for (const std::int64_t part : {x, y, z}) {
    h ^= static_cast<std::uint64_t>(part) + 0x9e3779b97f4a7c15U + (h << 6U) + (h >> 2U);
    h = (h ^ (h >> 30U)) * 0xbf58476d1ce4e5b9U;
    h = (h ^ (h >> 27U)) * 0x94d049bb133111ebU;
    h ^= h >> 31U;
  }
  return static_cast<double>(h >> 11U) * 0x1p-52 - 1;
}

double fade(double t) { return t * t * t * (t * (6 * t - 15) + 10); }

double mix(double a, double b, double t) { return a + t * (b - a); }

}  // namespace

double lattice_noise(double x, double y, double z, std::uint64_t seed) {
  const double fx = std::floor(x);
  const double fy = std::floor(y);
  const double fz = std::floor(z);
  const auto ix = static_cast<std::int64_t>(fx);
  const auto iy = static_cast<std::int64_t>(fy);
  const auto iz = static_cast<std::int64_t>(fz);
  const double tx = fade(x - fx);
  const double ty = fade(y - fy);
  const double tz = fade(z - fz);
  const auto along = [&](std::int64_t j, std::int64_t k) {
    return mix(lattice(ix, iy + j, iz + k, seed), lattice(ix + 1, iy + j, iz + k, seed), tx);
  };
  return mix(mix(along(0, 0), along(1, 0), ty), mix(along(0, 1), along(1, 1), ty), tz);
}

double fractal_noise(double x, double y, double z, int octaves, double roughness,
                     std::uint64_t seed) {
  double sum = 0;
  double strength = 1;
  double scale = 1;
  for (int i = 0; i < octaves; ++i) {
    sum += strength *
           lattice_noise(x * scale, y * scale, z * scale, seed + static_cast<std::uint64_t>(i));
    strength *= roughness;
    scale *= 2;
  }
  return sum;
}

}  // namespace lull::lab
