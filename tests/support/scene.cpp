#include "support/scene.h"

#include <cmath>
#include <random>

namespace lull::test {

Scene::Scene(Size size, std::uint32_t seed, double smallest_px, double largest_px) {
  std::mt19937 random(seed);
  constexpr int kMargin = 24;
  std::uniform_real_distribution<double> x(-kMargin, size.width_px + kMargin);
  std::uniform_real_distribution<double> y(-kMargin, size.height_px + kMargin);
  std::uniform_real_distribution<double> sigma(smallest_px, largest_px);
  std::uniform_real_distribution<double> height(-0.12, 0.12);
  const auto count = (size.width_px + 2 * kMargin) * (size.height_px + 2 * kMargin) / 120;
  for (int i = 0; i < count; ++i)
    hills_.push_back({x(random), y(random), height(random), sigma(random)});
}

double Scene::at(double x, double y) const {
  double value = 0.5;
  for (const Hill& hill : hills_) {
    const double dx = x - hill.x;
    const double dy = y - hill.y;
    const double exponent = (dx * dx + dy * dy) / (2 * hill.sigma * hill.sigma);
    if (exponent < 12) value += hill.height * std::exp(-exponent);
  }
  return value;
}

void add_noise(MutablePlaneView plane, double sigma, std::uint32_t seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, sigma);
  for (int y = 0; y < plane.height_px; ++y) {
    for (int x = 0; x < plane.width_px; ++x) {
      plane.row(y)[x] += static_cast<float>(noise(random));
    }
  }
}

}  // namespace lull::test
