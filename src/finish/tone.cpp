#include "finish/tone.h"

#include <algorithm>
#include <cmath>

#include "core/assert.h"
#include "core/limit.h"
#include "core/parallel.h"
#include "core/srgb.h"

namespace lull::finish {

namespace {

// Softening of the asinh: from a tenth of white on brightness grows with the logarithm of light.
constexpr double kAsinhScale = 10;

double asinh_curve(double value) {
  return std::asinh(kAsinhScale * value) / std::asinh(kAsinhScale);
}

// One pixel: light of its channels, from black to white, to brightness.
void asinh_pixel(std::vector<double>& light) {
  double mean = 0;
  double highest = 0;
  for (double& value : light) {
    value = limited(value, 1.0);
    mean += value / static_cast<double>(light.size());
    highest = std::max(highest, value);
  }
  if (mean <= 0) return;
  const double factor = std::min(asinh_curve(mean) / mean, 1 / highest);
  for (double& value : light) value *= factor;
}

void tone_row(std::vector<Plane>& picture, int y, Tone tone, const Levels& levels) {
  std::vector<double> light(picture.size());
  for (int x = 0; x < picture.front().width(); ++x) {
    for (std::size_t c = 0; c < picture.size(); ++c)
      light[c] = static_cast<double>(picture[c].row(y)[x]);
    place_between(levels, light);
    if (tone == Tone::asinh) {
      asinh_pixel(light);
    } else {
      for (double& value : light) value = srgb::from_light(value);
    }
    for (std::size_t c = 0; c < picture.size(); ++c)
      picture[c].row(y)[x] = static_cast<float>(light[c]);
  }
}

}  // namespace

void apply_tone(std::vector<Plane>& picture, Tone tone, const Levels& levels) {
  LULL_ASSERT(levels.black < levels.white);
  if (tone == Tone::linear) return;
  parallel_for(picture.front().height(),
               [&](std::int64_t row) { tone_row(picture, static_cast<int>(row), tone, levels); });
}

void saturate(std::vector<Plane>& picture, double factor) {
  LULL_ASSERT(picture.size() == 3);
  const auto by = static_cast<float>(factor);
  for (int y = 0; y < picture.front().height(); ++y) {
    float* r = picture[0].row(y);
    float* g = picture[1].row(y);
    float* b = picture[2].row(y);
    for (int x = 0; x < picture.front().width(); ++x) {
      const float luminance = 0.2126F * r[x] + 0.7152F * g[x] + 0.0722F * b[x];
      r[x] = luminance + by * (r[x] - luminance);
      g[x] = luminance + by * (g[x] - luminance);
      b[x] = luminance + by * (b[x] - luminance);
    }
  }
}

}  // namespace lull::finish
