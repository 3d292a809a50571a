#include "finish/levels.h"

#include <algorithm>
#include <cmath>

#include "core/statistics.h"

namespace lull::finish {

namespace {

constexpr std::size_t kMostPixels = 1U << 20U;  // that levels are judged from
constexpr double kDarkest = 0.001;              // quantiles, to find the sky by
constexpr double kBrightest = 0.9998;           // a star has few pixels
constexpr double kSkyLevel = 0.1;               // from the darkest to the brightest
constexpr double kLeastSky = 0.05;              // of the pixels
constexpr double kShadow = 0.002;               // quantiles of what is shown
constexpr double kHighlight = 0.998;
constexpr double kBelowField = 0.1;    // of its range
constexpr double kFieldReaches = 10;   // standard deviations
constexpr double kSkyNoise = 2;        // of the sky below its median, standard deviations
constexpr double kMostNoise = 0.02;    // of the range: more is no noise
constexpr double kLeastLight = 1e-12;  // between black and white

// Of each pixel that is looked at and is finite: the mean of its colours, and the brightest.
struct Pixels {
  std::vector<float> mean;
  std::vector<float> highest;
};

Pixels pixels_of(const std::vector<PlaneView>& picture) {
  const Size size = picture.front().size();
  const double all = static_cast<double>(size.area_px()) / static_cast<double>(kMostPixels);
  const int step = std::max(1, static_cast<int>(std::ceil(std::sqrt(all))));
  Pixels out;
  for (int y = 0; y < size.height_px; y += step) {
    for (int x = 0; x < size.width_px; x += step) {
      float sum = 0;
      float highest = picture.front().row(y)[x];
      for (const PlaneView& channel : picture) {
        sum += channel.row(y)[x];
        highest = std::max(highest, channel.row(y)[x]);
      }
      if (!std::isfinite(sum)) continue;  // order statistics are undefined with NaN among them
      out.mean.push_back(sum / static_cast<float>(picture.size()));
      out.highest.push_back(highest);
    }
  }
  return out;
}

double quantile_of(std::vector<float>& values, double q) {
  return static_cast<double>(lower_quantile(values, q));
}

// So far above the median of the sky that its noise does not show. Halo and shadowed ground lie
// above the median, so the noise is that of what lies below.
double black_of_sky(std::vector<float> sky, double range) {
  const float centre = median(sky);
  std::erase_if(sky, [centre](float v) { return v > centre; });
  const double noise = sigma_about(std::move(sky), centre);
  return static_cast<double>(centre) + std::min(kSkyNoise * noise, kMostNoise * range);
}

Levels levels_of_field(Pixels pixels) {
  const auto centre = median(pixels.mean);
  const double reach = kFieldReaches * sigma_about(pixels.mean, centre);
  const double darkest =
      std::max(quantile_of(pixels.mean, kShadow), static_cast<double>(centre) - reach);
  const auto bright = median(pixels.highest);
  const double bright_reach = kFieldReaches * sigma_about(pixels.highest, bright);
  const double white =
      std::min(quantile_of(pixels.highest, kHighlight), static_cast<double>(bright) + bright_reach);
  const double black = darkest - kBelowField * (white - darkest);
  return {darkest > 0 ? std::max(black, 0.0) : black, white};
}

}  // namespace

Levels levels_of(const std::vector<PlaneView>& picture) {
  Pixels pixels = pixels_of(picture);
  if (pixels.mean.empty()) return {};
  std::vector<float> values = pixels.mean;
  const double darkest = quantile_of(values, kDarkest);
  const double range = quantile_of(values, kBrightest) - darkest;
  std::vector<float> sky = pixels.mean;
  std::erase_if(sky, [level = darkest + kSkyLevel * range](float v) {
    return static_cast<double>(v) > level;
  });
  Levels levels;
  if (range > 0 &&
      static_cast<double>(sky.size()) > kLeastSky * static_cast<double>(values.size())) {
    levels.black = black_of_sky(std::move(sky), range);
    std::vector<float> object = std::move(pixels.highest);
    std::erase_if(object, [level = levels.black + kSkyLevel * range](float v) {
      return static_cast<double>(v) <= level;
    });
    levels.white = object.empty() ? levels.black : quantile_of(object, kHighlight);
  } else {
    levels = levels_of_field(std::move(pixels));
  }
  if (levels.white - levels.black > kLeastLight) return levels;
  return {levels.black - 0.5, levels.black + 0.5};
}

}  // namespace lull::finish
