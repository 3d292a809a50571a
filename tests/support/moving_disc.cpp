#include "support/moving_disc.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <random>

#include "support/video_writer.h"

namespace lull::test {

namespace {

/// Light in [0, 1] of a disc that moves, with noise.
[[nodiscard]] std::vector<double> scene(int index, std::size_t samples, int width_px) {
  std::mt19937 random(static_cast<unsigned>(7000 + index));
  std::normal_distribution<double> noise(0.0, 0.01);
  std::vector<double> light(samples);
  const double height = static_cast<double>(samples) / width_px;
  const double centre_x = 0.5 * width_px + 3 * std::sin(index * 0.7);
  const double centre_y = 0.5 * height + 3 * std::cos(index * 0.9);
  const double radius = 0.3 * std::min<double>(width_px, height);
  for (std::size_t i = 0; i < samples; ++i) {
    const std::size_t row = i / static_cast<std::size_t>(width_px);
    const double x = static_cast<double>(i % static_cast<std::size_t>(width_px)) - centre_x;
    const double y = static_cast<double>(row) - centre_y;
    const double edge = 1.0 / (1.0 + std::exp(std::hypot(x, y) - radius));
    light[i] = std::clamp(0.05 + 0.8 * edge + noise(random), 0.0, 1.0);
  }
  return light;
}

}  // namespace

std::vector<Bytes> pictures_8(int count, std::size_t bytes, int width_px) {
  std::vector<Bytes> pictures;
  for (int i = 0; i < count; ++i) {
    std::vector<std::uint8_t> samples;
    for (const double light : scene(i, bytes, width_px)) {
      samples.push_back(static_cast<std::uint8_t>(std::lround(255 * light)));
    }
    pictures.push_back(bytes_of(samples));
  }
  return pictures;
}

std::vector<Bytes> pictures_16(int count, std::size_t samples, int width_px, int bits, int shift) {
  std::vector<Bytes> pictures;
  const int top = (1 << bits) - 1;
  for (int i = 0; i < count; ++i) {
    std::vector<std::uint16_t> words;
    for (const double light : scene(i, samples, width_px)) {
      words.push_back(static_cast<std::uint16_t>(std::lround(top * light) << shift));
    }
    pictures.push_back(bytes_of(words));
  }
  return pictures;
}

}  // namespace lull::test
