#include "spectrum/sampling.h"

#include <cmath>
#include <numbers>

namespace lull::spectrum {

namespace {

using std::numbers::pi;

constexpr int kDirections = 16;

double sinc(double x) { return std::abs(x) < 1e-9 ? 1 : std::sin(pi * x) / (pi * x); }

double cubic(double f) {
  if (std::abs(f) < 1e-3) return 1;
  const double s1 = sinc(f);
  const double s2 = sinc(2 * f);
  return (3 * (s1 * s1 - s2) - (3 * s2 * s2 - 2 * s2 - sinc(4 * f))) / (pi * f * pi * f);
}

// Of what is separable, along x and along y.
template <class Along>
double mean_over_directions(double frequency, const Along& along) {
  double sum = 0;
  for (int k = 0; k < kDirections; ++k) {
    const double angle = pi / 2 * (k + 0.5) / kDirections;
    sum += along(frequency * std::cos(angle)) * along(frequency * std::sin(angle));
  }
  return sum / kDirections;
}

}  // namespace

double cubic_transfer(double frequency) { return mean_over_directions(frequency, cubic); }

double spline_transfer(double frequency) {
  return mean_over_directions(frequency, [](double f) {
    const double s = sinc(f);
    return 3 * s * s * s * s / (2 + std::cos(2 * pi * f));
  });
}

double tent_transfer(double frequency) {
  return mean_over_directions(frequency, [](double f) { return sinc(f) * sinc(f); });
}

double drop_transfer(double frequency, double side_px) {
  return mean_over_directions(frequency, [side_px](double f) { return sinc(side_px * f); });
}

double smoothing_power(double frequency) {
  const double amplitude = 0.5 + 0.5 * std::cos(2 * std::numbers::pi * frequency);
  return amplitude * amplitude;
}

}  // namespace lull::spectrum
