#include "spectrum/peak.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <numeric>

namespace lull::spectrum {

namespace {

// Vertex of the parabola through three equidistant samples, in samples from the central one.
double vertex(double before, double centre, double after) {
  const double curvature = before - 2 * centre + after;
  return curvature < 0 ? std::clamp(0.5 * (before - after) / curvature, -0.5, 0.5) : 0;
}

float sum_of_squares(const float* row, int width) {
  constexpr int kLanes = 8;  // independent, so that additions overlap
  std::array<float, kLanes> sums{};
  int x = 0;
  for (; x + kLanes <= width; x += kLanes) {
    for (int lane = 0; lane < kLanes; ++lane) {
      const float value = row[x + lane];
      sums[static_cast<std::size_t>(lane)] += value * value;
    }
  }
  for (; x < width; ++x) sums[0] += row[x] * row[x];
  return std::accumulate(sums.begin(), sums.end(), 0.0F);
}

float largest_of(const float* row, int width) {
  constexpr int kLanes = 16;  // compared side by side
  std::array<float, kLanes> most;
  most.fill(std::numeric_limits<float>::lowest());
  int x = 0;
  for (; x + kLanes <= width; x += kLanes) {
    for (int lane = 0; lane < kLanes; ++lane) {
      float& here = most[static_cast<std::size_t>(lane)];
      here = row[x + lane] > here ? row[x + lane] : here;
    }
  }
  for (; x < width; ++x) most[0] = std::max(most[0], row[x]);
  return *std::max_element(most.begin(), most.end());
}

int wrapped(int i, int length) { return (i % length + length) % length; }

int signed_offset(int i, int length) { return i > length / 2 ? i - length : i; }

}  // namespace

CorrelationPeak find_peak(PlaneView correlation, int reach_x, int reach_y) {
  const int width = correlation.width_px;
  const int height = correlation.height_px;
  int best_x = 0;
  int best_y = 0;
  float best = correlation.at(0, 0);
  double squares = 0;
  for (int y = 0; y < height; ++y) {
    const float* row = correlation.row(y);
    squares += static_cast<double>(sum_of_squares(row, width));
    if (std::abs(signed_offset(y, height)) > reach_y || !(largest_of(row, width) > best)) continue;
    for (int x = 0; x < width; ++x) {
      if (row[x] <= best || std::abs(signed_offset(x, width)) > reach_x) continue;
      best = row[x];
      best_x = x;
      best_y = y;
    }
  }
  const auto value = [&](int x, int y) {
    return static_cast<double>(correlation.at(wrapped(x, width), wrapped(y, height)));
  };
  const double centre = value(best_x, best_y);
  CorrelationPeak peak;
  peak.at = {signed_offset(best_x, width) +
                 vertex(value(best_x - 1, best_y), centre, value(best_x + 1, best_y)),
             signed_offset(best_y, height) +
                 vertex(value(best_x, best_y - 1), centre, value(best_x, best_y + 1))};
  const double rms = std::sqrt(squares / static_cast<double>(correlation.size().area_px()));
  peak.over_rms = rms > 0 ? centre / rms : 0;
  return peak;
}

}  // namespace lull::spectrum
