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

// Four samples of a row, or their weights.
typedef float Taps __attribute__((vector_size(16)));                   // NOLINT: alias templates
typedef float LooseTaps __attribute__((vector_size(16), aligned(4)));  // NOLINT: cannot carry it

// weights() as polynomials of t.
Taps taps_at(float t) {
  constexpr float kSixth = 1.0F / 6;
  constexpr Taps kCubic = {-kSixth, 3 * kSixth, -3 * kSixth, kSixth};
  constexpr Taps kSquare = {3 * kSixth, -6 * kSixth, 3 * kSixth, 0};
  constexpr Taps kLinear = {-3 * kSixth, 0, 3 * kSixth, 0};
  constexpr Taps kConstant = {kSixth, 4 * kSixth, kSixth, 0};
  return ((kCubic * t + kSquare) * t + kLinear) * t + kConstant;
}

// Of numbers that an int holds. Without the call that std::floor is on machines of old.
int floor_of(double value) {
  const int whole = static_cast<int>(value);
  return whole - static_cast<int>(value < whole);
}

// A place within samples that go on as in a mirror, if it is not far outside.
double folded(double at, int length) {
  if (at < 0) return -at;
  const double last = length - 1;
  return at > last ? 2 * last - at : at;
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

void SplinePlane::read(std::span<const Displacement> places, float* out) const {
  const PlaneView samples = coefficients_.view();
  const auto load = [](const float* at) -> Taps { return *reinterpret_cast<const LooseTaps*>(at); };
  for (Displacement place : places) {
    place = {folded(place.x_px, samples.width_px), folded(place.y_px, samples.height_px)};
    const int left = floor_of(place.x_px) - 1;
    const int top = floor_of(place.y_px) - 1;
    if (left < 0 || top < 0 || left + 3 >= samples.width_px || top + 3 >= samples.height_px) {
      *out++ = at(SplinePlace(place.x_px, place.y_px));
      continue;
    }
    const Taps across = taps_at(static_cast<float>(place.x_px - (left + 1)));
    const Taps down = taps_at(static_cast<float>(place.y_px - (top + 1)));
    const float* row = samples.row(top) + left;
    Taps sum = load(row) * down[0];
    for (int k = 1; k < 4; ++k) sum += load(row += samples.stride_elems) * down[k];
    sum *= across;
    *out++ = (sum[0] + sum[1]) + (sum[2] + sum[3]);
  }
}

}  // namespace lull::align
