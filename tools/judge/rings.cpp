#include "judge/rings.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "judge/transforms.h"

namespace lull::judge {

namespace {

double frequency(int i, int n, Transform transform) {
  return transform == Transform::cosine ? i / (2.0 * n) : fourier_frequency(i, n);
}

std::vector<double> tukey_line(int length, double share) {
  std::vector<double> line(static_cast<std::size_t>(length), 1.0);
  const double ramp = share * length / 2;
  for (int i = 0; i < length; ++i) {
    const double from_edge = std::min(i, length - 1 - i) + 0.5;
    if (from_edge >= ramp) continue;
    line[static_cast<std::size_t>(i)] = 0.5 - 0.5 * std::cos(std::numbers::pi * from_edge / ramp);
  }
  return line;
}

}  // namespace

Rings rings_of(Size size, double cutoff, int rings_to_cutoff, Transform transform) {
  Rings rings;
  rings.rings_to_cutoff = rings_to_cutoff;
  rings.ring.reserve(static_cast<std::size_t>(size.area_px()));
  rings.radius.reserve(static_cast<std::size_t>(size.area_px()));
  for (int y = 0; y < size.height_px; ++y) {
    const double fy = frequency(y, size.height_px, transform);
    for (int x = 0; x < size.width_px; ++x) {
      const double radius = std::hypot(fy, frequency(x, size.width_px, transform)) / cutoff;
      rings.radius.push_back(radius);
      rings.ring.push_back(
          static_cast<int>(std::min(radius * rings_to_cutoff, 10.0 * rings_to_cutoff)));
    }
  }
  return rings;
}

int ring_count(double wish, int fewest, int most) {
  return static_cast<int>(std::clamp(wish, static_cast<double>(fewest), static_cast<double>(most)));
}

Image tukey_window(Size size, double share) {
  const auto columns = tukey_line(size.width_px, share);
  const auto rows = tukey_line(size.height_px, share);
  Image window(size);
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) {
      window.at(x, y) = rows[static_cast<std::size_t>(y)] * columns[static_cast<std::size_t>(x)];
    }
  }
  return window;
}

Image windowed(const Image& image, const Image& window) {
  const double level = mean(product(image, window)) / mean(window);
  Image result(image.size());
  for (std::size_t i = 0; i < result.count(); ++i) {
    result.samples[i] = (image.samples[i] - level) * window.samples[i];
  }
  return result;
}

}  // namespace lull::judge
