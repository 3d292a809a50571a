#include "lab/slow_noise.h"

#include <cmath>
#include <numbers>

namespace lull::lab {

SlowNoise::SlowNoise(std::initializer_list<std::uint64_t> key, double fastest_hz) {
  constexpr int kWaves = 16;
  Random random(key);
  for (int i = 0; i < kWaves; ++i) {
    const double hz = fastest_hz * (i + random.uniform()) / kWaves;
    waves_.push_back({2 * std::numbers::pi * hz, random.uniform(0, 2 * std::numbers::pi)});
  }
}

double SlowNoise::at(double time_s) const {
  double sum = 0;
  for (const Wave& wave : waves_) sum += std::cos(wave.rad_per_s * time_s + wave.phase_rad);
  return sum * std::sqrt(2.0 / static_cast<double>(waves_.size()));
}

}  // namespace lull::lab
