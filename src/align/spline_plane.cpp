#include "align/spline_plane.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <vector>

#include "core/parallel.h"

namespace lull::align {

namespace {

const double kPole = std::sqrt(3.0) - 2.0;
constexpr int kBand = 64;     // lines
constexpr int kHorizon = 24;  // |pole|^24 is below the precision of a float

int mirrored(int i, int length) {
  if (i >= 0 && i < length) return i;
  if (length == 1) return 0;
  const int period = 2 * (length - 1);
  i = std::abs(i) % period;
  return i < length ? i : period - i;
}

// Samples to B-spline coefficients, in place: a causal and an anticausal recursion.
void prefilter(std::vector<double>& c) {
  const int n = static_cast<int>(c.size());
  if (n < 2) return;
  for (double& value : c) value *= (1 - kPole) * (1 - 1 / kPole);
  double start = 0;
  double power = 1;
  for (int i = 0; i < kHorizon; ++i) {
    start += power * c[static_cast<std::size_t>(mirrored(i, n))];
    power *= kPole;
  }
  c[0] = start;
  for (std::size_t i = 1; i < c.size(); ++i) c[i] += kPole * c[i - 1];
  const std::size_t last = c.size() - 1;
  c[last] = kPole / (kPole * kPole - 1) * (c[last] + kPole * c[last - 1]);
  for (std::size_t i = last; i-- > 0;) c[i] = kPole * (c[i + 1] - c[i]);
}

std::array<float, 4> weights(double t) {
  const double u = 1 - t;
  return {
      static_cast<float>(u * u * u / 6), static_cast<float>((4 - 6 * t * t + 3 * t * t * t) / 6),
      static_cast<float>((4 - 6 * u * u + 3 * u * u * u) / 6), static_cast<float>(t * t * t / 6)};
}

// Calls body(first, end) for bands of so many lines.
template <class Body>
void for_bands(int lines, const Body& body) {
  parallel_for((lines + kBand - 1) / kBand, [&](std::int64_t band) {
    const int first = static_cast<int>(band) * kBand;
    body(first, std::min(first + kBand, lines));
  });
}

}  // namespace

SplinePlace::SplinePlace(double x_px, double y_px)
    : left(static_cast<int>(std::floor(x_px))),
      top(static_cast<int>(std::floor(y_px))),
      across(weights(x_px - left)),
      down(weights(y_px - top)) {}

SplinePlane::SplinePlane(PlaneView plane) : coefficients_(Plane::copy_of(plane)) {
  const int width = plane.width_px;
  const int height = plane.height_px;
  for_bands(height, [&](int first, int end) {
    std::vector<double> line(static_cast<std::size_t>(width));
    for (int y = first; y < end; ++y) {
      float* row = coefficients_.row(y);
      std::copy_n(row, width, line.begin());
      prefilter(line);
      for (int x = 0; x < width; ++x)
        row[x] = static_cast<float>(line[static_cast<std::size_t>(x)]);
    }
  });
  for_bands(width, [&](int first, int end) {
    std::vector<double> line(static_cast<std::size_t>(height));
    for (int x = first; x < end; ++x) {
      for (int y = 0; y < height; ++y)
        line[static_cast<std::size_t>(y)] = static_cast<double>(coefficients_.row(y)[x]);
      prefilter(line);
      for (int y = 0; y < height; ++y)
        coefficients_.row(y)[x] = static_cast<float>(line[static_cast<std::size_t>(y)]);
    }
  });
}

void SplinePlane::sample(Displacement d, MutablePlaneView out) const {
  const int width = coefficients_.width();
  const int height = coefficients_.height();
  const int left = static_cast<int>(std::floor(d.x_px));
  const int top = static_cast<int>(std::floor(d.y_px));
  const auto wx = weights(d.x_px - left);
  const auto wy = weights(d.y_px - top);
  std::vector<float> column(static_cast<std::size_t>(width));
  for (int y = 0; y < height; ++y) {
    const float* rows[4];
    for (int k = 0; k < 4; ++k) rows[k] = coefficients_.row(mirrored(y + top - 1 + k, height));
    for (int x = 0; x < width; ++x) {
      column[static_cast<std::size_t>(x)] =
          wy[0] * rows[0][x] + wy[1] * rows[1][x] + wy[2] * rows[2][x] + wy[3] * rows[3][x];
    }
    for (int x = 0; x < width; ++x) {
      float sum = 0;
      for (int k = 0; k < 4; ++k) {
        sum += wx[static_cast<std::size_t>(k)] *
               column[static_cast<std::size_t>(mirrored(x + left - 1 + k, width))];
      }
      out.row(y)[x] = sum;
    }
  }
}

float SplinePlane::at(const SplinePlace& place) const {
  const int width = coefficients_.width();
  const int height = coefficients_.height();
  const bool inside =
      place.left >= 1 && place.top >= 1 && place.left + 2 < width && place.top + 2 < height;
  float sum = 0;
  for (std::size_t k = 0; k < 4; ++k) {
    const int y = place.top - 1 + static_cast<int>(k);
    const float* row = coefficients_.row(inside ? y : mirrored(y, height));
    float across = 0;
    for (std::size_t i = 0; i < 4; ++i) {
      const int x = place.left - 1 + static_cast<int>(i);
      across += place.across[i] * row[inside ? x : mirrored(x, width)];
    }
    sum += place.down[k] * across;
  }
  return sum;
}

}  // namespace lull::align
