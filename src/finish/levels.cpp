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
constexpr double kSpotsBegin = 5;      // below the median of the field, standard deviations
constexpr double kFieldReaches = 3;    // where they are squeezed from, less: granules show
constexpr double kBrightReaches = 10;  // above it
constexpr double kSpotsShare = 0.16;   // of the light that is shown: 43% of the gray values
constexpr double kSkyNoise = 2;        // of the sky below its median, standard deviations
constexpr double kMostNoise = 0.02;    // of the range: more is no noise
constexpr double kLeastLight = 1e-12;  // between black and white

// Of each pixel that is looked at and is finite: the mean of its colours, and the brightest.
struct Pixels {
  std::vector<float> mean;
  std::vector<float> highest;
};

int step_through(Size size) {
  const double all = static_cast<double>(size.area_px()) / static_cast<double>(kMostPixels);
  return std::max(1, static_cast<int>(std::ceil(std::sqrt(all))));
}

Pixels pixels_of(const std::vector<PlaneView>& picture) {
  const Size size = picture.front().size();
  const int step = step_through(size);
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

// Light above the knee is straight; spots have what lies below it.
std::optional<Levels> squeezed_below(double knee, double spots, double white) {
  const double below_spots = spots - kBelowField * (knee - spots);
  const double darkest = spots > 0 ? std::max(below_spots, 0.0) : below_spots;
  const double black = (knee - kSpotsShare * white) / (1 - kSpotsShare);
  if (!(darkest < black && knee < white)) return std::nullopt;
  return Levels{black, white, darkest};
}

// By the brightest colour of each pixel, which is what white is judged by. None where what lies
// below the field needs no squeezing.
std::optional<Levels> levels_of_spotted(std::vector<float>& highest, double white) {
  const float centre = median(highest);
  const double sigma = sigma_about(highest, centre);
  const double spots = quantile_of(highest, kShadow);
  const auto below = [&](double reach) {
    return squeezed_below(static_cast<double>(centre) - reach * sigma, spots, white);
  };
  // Shadows of craters reach a little below their field: those are no spots.
  return below(kSpotsBegin) ? below(kFieldReaches) : std::nullopt;
}

Levels levels_of_field(Pixels pixels) {
  const auto bright = median(pixels.highest);
  const double reach = kBrightReaches * sigma_about(pixels.highest, bright);
  const double white =
      std::min(quantile_of(pixels.highest, kHighlight), static_cast<double>(bright) + reach);
  if (const auto spotted = levels_of_spotted(pixels.highest, white)) return *spotted;
  const double darkest = quantile_of(pixels.mean, kShadow);
  const double black = darkest - kBelowField * (white - darkest);
  return {darkest > 0 ? std::max(black, 0.0) : black, white};
}

// Of the channels where there is sky, whose mean is at most `level`.
std::array<double, 3> cast_of_sky(const std::vector<PlaneView>& picture, double level) {
  if (picture.size() != 3) return {};
  std::array<std::vector<float>, 3> sky;
  const Size size = picture.front().size();
  const int step = step_through(size);
  for (int y = 0; y < size.height_px; y += step) {
    for (int x = 0; x < size.width_px; x += step) {
      const float sum = picture[0].row(y)[x] + picture[1].row(y)[x] + picture[2].row(y)[x];
      if (!std::isfinite(sum) || static_cast<double>(sum / 3) > level) continue;
      for (std::size_t c = 0; c < 3; ++c) sky[c].push_back(picture[c].row(y)[x]);
    }
  }
  std::array<double, 3> out{};
  double mean = 0;
  for (std::size_t c = 0; c < 3; ++c) {
    out[c] = static_cast<double>(median(std::move(sky[c])));
    mean += out[c] / 3;
  }
  for (double& value : out) value -= mean;
  return out;
}

// Light to its place where spots are squeezed in below a field: by its square, which the curve of
// sRGB makes an even rise.
double squeezed(const Levels& levels, double light) {
  const double knee = levels.black + kSpotsShare * (levels.white - levels.black);
  if (light >= knee) return (light - levels.black) / (levels.white - levels.black);
  const double part = std::max((light - *levels.darkest) / (knee - *levels.darkest), 0.0);
  return kSpotsShare * part * part;
}

}  // namespace

Levels levels_of(const std::vector<PlaneView>& picture) {
  Pixels pixels = pixels_of(picture);
  if (pixels.mean.empty()) return {};
  std::vector<float> values = pixels.mean;
  const double darkest = quantile_of(values, kDarkest);
  const double range = quantile_of(values, kBrightest) - darkest;
  const double sky_level = darkest + kSkyLevel * range;
  std::vector<float> sky = pixels.mean;
  std::erase_if(sky, [sky_level](float v) { return static_cast<double>(v) > sky_level; });
  Levels levels;
  if (range > 0 &&
      static_cast<double>(sky.size()) > kLeastSky * static_cast<double>(values.size())) {
    levels.black = black_of_sky(std::move(sky), range);
    levels.cast = cast_of_sky(picture, sky_level);
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

void place_between(const Levels& levels, std::span<double> channels) {
  if (levels.darkest) {
    const double highest = *std::max_element(channels.begin(), channels.end());
    const double place = squeezed(levels, highest);
    for (double& light : channels) light = highest > 0 ? light * (place / highest) : place;
    return;
  }
  for (std::size_t c = 0; c < channels.size(); ++c)
    channels[c] = (channels[c] - levels.cast[c] - levels.black) / (levels.white - levels.black);
}

}  // namespace lull::finish
