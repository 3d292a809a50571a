#include "support/colour_scene.h"

#include <cmath>
#include <random>

namespace lull::test {

double light_at(double x, double y, int channel) {
  const double fade = channel == 2 ? 0.7 : 1.0;
  const double r2 = (x - 47) * (x - 47) + (y - 39) * (y - 39);
  return std::exp(-r2 / 700) * (0.5 + 0.12 * fade * std::sin(0.9 * x + 0.2 * y) +
                                0.12 * fade * std::cos(0.31 * x - 0.8 * y) + 0.1 * channel);
}

Plane colour_picture(int channel, double dx, double dy, double sigma, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, sigma);
  Plane plane(kColourScene);
  for (int y = 0; y < kColourScene.height_px; ++y) {
    for (int x = 0; x < kColourScene.width_px; ++x)
      plane.row(y)[x] = static_cast<float>(light_at(x - dx, y - dy, channel) + noise(random));
  }
  return plane;
}

}  // namespace lull::test
