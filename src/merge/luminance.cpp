#include "merge/luminance.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "finish/strength.h"
#include "merge/detail.h"
#include "merge/match_blur.h"

namespace lull::merge {

namespace {

constexpr double kWidePx = 4;
// Of the bright parts: where the mean is darker, shares tend to those of gray.
constexpr double kDark = 0.01;
constexpr double kBrightShare = 0.98;

Plane half_of(const Light& light, float sign) {
  return weighted_sum(light.light.view(), sign, light.noise.view());
}

double product_sum(const Plane& one, const Plane& other) {
  double sum = 0;
  for (int y = 0; y < one.height(); ++y)
    for (int x = 0; x < one.width(); ++x)
      sum += static_cast<double>(one.row(y)[x]) * static_cast<double>(other.row(y)[x]);
  return sum;
}

float bright_part(const Plane& plane) {
  std::vector<float> values;
  for (int y = 0; y < plane.height(); ++y)
    values.insert(values.end(), plane.row(y), plane.row(y) + plane.width());
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(
                                       kBrightShare * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

// a L + wide(mean - a L)
Plane brightness(const Plane& luminance, const Plane& mean, float factor) {
  const Plane rest = weighted_sum(mean.view(), -factor, luminance.view());
  const Plane wide = blurred(rest.view(), kWidePx);
  return weighted_sum(wide.view(), factor, luminance.view());
}

// Share of a colour in the mean, times the brightness.
Plane coloured(const Plane& colour, const Plane& mean, const Plane& bright, float dark) {
  Plane out(colour.size());
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) {
      const float light = std::max(mean.row(y)[x], 0.0F);
      const float share = (std::max(colour.row(y)[x], 0.0F) + dark) / (light + dark);
      out.row(y)[x] = share * bright.row(y)[x];
    }
  }
  return out;
}

}  // namespace

Light mean_of(const std::array<Light, 3>& colours) {
  Light out{Plane::copy_of(colours[0].light.view()), Plane::copy_of(colours[0].noise.view())};
  for (std::size_t c = 1; c < 3; ++c) {
    add(out.light.view(), colours[c].light.view());
    add(out.noise.view(), colours[c].noise.view());
  }
  scale(out.light.view(), 1.0F / 3);
  scale(out.noise.view(), 1.0F / 3);
  return out;
}

void add_luminance(std::array<Light, 3>& colours, const Light& luminance,
                   const spectrum::FrcCurve& frc) {
  const Light mean = mean_of(colours);
  const auto certain = finish::wiener_weight(frc);
  const auto factor = static_cast<float>(product_sum(mean.light, luminance.light) /
                                         product_sum(luminance.light, luminance.light));
  const float dark = static_cast<float>(kDark) * bright_part(mean.light);
  std::array<std::array<Plane, 2>, 3> halves;
  for (const std::size_t half : {std::size_t{0}, std::size_t{1}}) {
    const float sign = half == 0 ? 1.0F : -1.0F;
    const Plane grey = half_of(mean, sign);
    const Plane bright = brightness(half_of(luminance, sign), grey, factor);
    const Plane smooth_mean = through(grey.view(), certain);
    for (std::size_t c = 0; c < 3; ++c) {
      const Plane smooth = through(half_of(colours[c], sign).view(), certain);
      halves[c][half] = coloured(smooth, smooth_mean, bright, dark);
    }
  }
  for (std::size_t c = 0; c < 3; ++c) {
    Light& out = colours[c];
    for (int y = 0; y < out.light.height(); ++y) {
      for (int x = 0; x < out.light.width(); ++x) {
        const float first = halves[c][0].row(y)[x];
        const float second = halves[c][1].row(y)[x];
        out.light.row(y)[x] = 0.5F * (first + second);
        out.noise.row(y)[x] = 0.5F * (first - second);
      }
    }
  }
}

}  // namespace lull::merge
