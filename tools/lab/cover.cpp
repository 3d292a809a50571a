#include "lab/cover.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/parallel.h"
#include "lab/noise3.h"

namespace lull::lab {

namespace {

constexpr double kPi = std::numbers::pi;
constexpr std::int64_t kRows = 720;
constexpr std::int64_t kColumns = 1440;

// Belts that follow the latitude, with waves and ovals.
CoverLight bands(double latitude, double longitude, std::uint64_t seed) {
  const double cx = std::cos(latitude) * std::cos(longitude);
  const double cy = std::cos(latitude) * std::sin(longitude);
  const double wave = 0.05 * fractal_noise(4 * cx, 4 * cy, 9 * latitude, 5, 0.6, seed + 41);
  const double belt = std::sin(15 * (latitude + wave)) + 0.5 * std::sin(31 * latitude + 1.3);
  const double fine = 0.25 * fractal_noise(9 * cx, 9 * cy, 40 * latitude, 5, 0.65, seed + 42);
  const double dark = 0.5 + 0.5 * std::tanh(1.2 * belt + fine);
  const double dl = std::remainder(longitude - 0.4, 2 * kPi) / 0.16;
  const double db = (latitude + 0.36) / 0.085;
  const double oval = std::exp(-std::pow(dl * dl + db * db, 2));
  const double light = 0.62 + 0.36 * dark;
  return {light * (1 - 0.05 * oval), light * (0.93 - 0.02 * (1 - dark) - 0.25 * oval),
          light * (0.80 - 0.16 * (1 - dark) - 0.3 * oval)};
}

// Dark ground with dust, a polar cap.
CoverLight deserts(double latitude, double longitude, std::uint64_t seed) {
  const double x = std::cos(latitude) * std::cos(longitude);
  const double y = std::cos(latitude) * std::sin(longitude);
  const double z = std::sin(latitude);
  const double wide = fractal_noise(2.2 * x, 2.2 * y, 2.2 * z, 3, 0.5, seed + 51);
  const double fine = fractal_noise(9 * x, 9 * y, 9 * z, 6, 0.65, seed + 52);
  const double dust = 0.5 + 0.5 * std::tanh(3.5 * wide + 0.8 * fine);
  const double cap = 0.5 + 0.5 * std::tanh(25 * (latitude - 1.2 + 0.05 * fine));
  const double ground = 0.38 + 0.5 * dust + 0.05 * fine;
  return {ground + cap * (1 - ground), 0.66 * ground + cap * (0.95 - 0.66 * ground),
          0.42 * ground + cap * (0.9 - 0.42 * ground)};
}

}  // namespace

CoverLight cover_at(const SceneParameters& scene, double latitude, double longitude,
                    std::uint64_t seed) {
  return scene.cover == "bands" ? bands(latitude, longitude, seed)
                                : deserts(latitude, longitude, seed);
}

CoverMap::CoverMap(const SceneParameters& scene, std::uint64_t seed)
    : samples_(static_cast<std::size_t>(kRows + 1) * kColumns) {
  parallel_for(kRows + 1, [&](std::int64_t row) {
    const double latitude = kPi * (static_cast<double>(row) / kRows - 0.5);
    for (std::int64_t column = 0; column < kColumns; ++column) {
      const double longitude = 2 * kPi * static_cast<double>(column) / kColumns;
      samples_[static_cast<std::size_t>(row * kColumns + column)] =
          cover_at(scene, latitude, longitude, seed);
    }
  });
}

CoverLight CoverMap::at(double latitude, double longitude) const {
  const double y = std::clamp((latitude / kPi + 0.5) * kRows, 0.0, kRows - 1e-9);
  const double turns = longitude / (2 * kPi);
  const double x = (turns - std::floor(turns)) * kColumns;
  const auto row = static_cast<std::int64_t>(y);
  const auto column = static_cast<std::int64_t>(x) % kColumns;
  const double down = y - static_cast<double>(row);
  const double across = x - std::floor(x);
  const auto sample = [&](std::int64_t r, std::int64_t c) -> const CoverLight& {
    return samples_[static_cast<std::size_t>(r * kColumns + c % kColumns)];
  };
  CoverLight out{};
  for (std::size_t c = 0; c < out.size(); ++c) {
    const auto along = [&](std::int64_t r) {
      return (1 - across) * sample(r, column)[c] + across * sample(r, column + 1)[c];
    };
    out[c] = (1 - down) * along(row) + down * along(row + 1);
  }
  return out;
}

}  // namespace lull::lab
