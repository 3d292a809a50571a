#include "judge/spline.h"

#include <array>
#include <cmath>
#include <cstdlib>
#include <span>

namespace lull::judge {

namespace {

constexpr int kTaps = 6;

/// Poles of the inverse filter inside the unit circle: roots of z^4 + 26 z^3 + 66 z^2 + 26 z + 1.
std::array<double, 2> poles() {
  const double inner = std::sqrt(17745.0 / 4);
  const double outer = std::sqrt(105.0 / 4);
  return {std::sqrt(67.5 - inner) + outer - 6.5, std::sqrt(67.5 + inner) - outer - 6.5};
}

int mirrored(int i, int length) {
  const int period = 2 * (length - 1);
  i = std::abs(i) % period;
  return i < length ? i : period - i;
}

/// One pole: a causal and an anticausal recursion, both started as the mirrored line demands.
void filter_pole(std::span<double> line, double pole) {
  const std::size_t last = line.size() - 1;
  const double far = std::pow(pole, static_cast<double>(last));
  double power = pole;
  line[0] += far * line[last];
  for (std::size_t i = 1; i < last; ++i) {
    line[0] += power * (line[i] + far * line[last - i]);
    power *= pole;
  }
  line[0] /= 1 - far * far;
  for (std::size_t i = 1; i <= last; ++i) line[i] += pole * line[i - 1];
  line[last] = pole / (pole * pole - 1) * (line[last] + pole * line[last - 1]);
  for (std::size_t i = last; i-- > 0;) line[i] = pole * (line[i + 1] - line[i]);
}

void prefilter(std::span<double> line) {
  for (const double pole : poles()) {
    for (double& value : line) value *= (1 - pole) * (1 - 1 / pole);
    filter_pole(line, pole);
  }
}

/// Quintic B-spline at the six nodes around a place t past the third of them, 0 <= t < 1.
std::array<double, kTaps> weights(double t) {
  std::array<double, kTaps> result = {};
  for (int k = 0; k < kTaps; ++k) {
    const double d = std::abs(t + 2 - k);
    const auto fifth = [](double v) { return v <= 0 ? 0 : v * v * v * v * v; };
    // Truncated powers of the sixth difference: (3-d)^5 - 6 (2-d)^5 + 15 (1-d)^5, over 5!.
    result[static_cast<std::size_t>(k)] =
        (fifth(3 - d) - 6 * fifth(2 - d) + 15 * fifth(1 - d)) / 120;
  }
  return result;
}

}  // namespace

Spline::Spline(const Image& image) : coefficients_(image) {
  const auto width = static_cast<std::size_t>(image.width_px);
  for (int y = 0; y < image.height_px; ++y) {
    prefilter(std::span(coefficients_.samples).subspan(coefficients_.index(0, y), width));
  }
  std::vector<double> line(static_cast<std::size_t>(image.height_px));
  for (int x = 0; x < image.width_px; ++x) {
    for (int y = 0; y < image.height_px; ++y) {
      line[static_cast<std::size_t>(y)] = coefficients_.at(x, y);
    }
    prefilter(line);
    for (int y = 0; y < image.height_px; ++y) {
      coefficients_.at(x, y) = line[static_cast<std::size_t>(y)];
    }
  }
}

double Spline::at(double x, double y) const {
  const int left = static_cast<int>(std::floor(x));
  const int top = static_cast<int>(std::floor(y));
  const auto weights_x = weights(x - left);
  const auto weights_y = weights(y - top);
  std::array<int, kTaps> columns = {};
  for (int k = 0; k < kTaps; ++k) {
    columns[static_cast<std::size_t>(k)] = mirrored(left - 2 + k, coefficients_.width_px);
  }
  double value = 0;
  for (int j = 0; j < kTaps; ++j) {
    const int row = mirrored(top - 2 + j, coefficients_.height_px);
    double sum = 0;
    for (std::size_t k = 0; k < kTaps; ++k) sum += weights_x[k] * coefficients_.at(columns[k], row);
    value += weights_y[static_cast<std::size_t>(j)] * sum;
  }
  return value;
}

Image Spline::sampled(Size size, Displacement offset) const {
  Image image(size);
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) {
      image.at(x, y) = at(x + offset.x_px, y + offset.y_px);
    }
  }
  return image;
}

}  // namespace lull::judge
