#include "finish/white_balance.h"

#include <algorithm>

#include "core/statistics.h"

namespace lull::finish {

namespace {

constexpr double kObjectShare = 0.1;
constexpr double kSaturated = 0.98;  // of full scale, in any colour
constexpr double kSkyShare = 0.1;    // of the picture: less shows no sky
constexpr double kHighlight = 0.99;
constexpr double kShadow = 0.02;

struct Levels {
  double low = 0;
  double high = 0;
};

Levels levels_of(PlaneView plane) {
  std::vector<float> values;
  values.reserve(static_cast<std::size_t>(plane.size().area_px()));
  for (int y = 0; y < plane.height_px; ++y)
    values.insert(values.end(), plane.row(y), plane.row(y) + plane.width_px);
  const auto low = static_cast<double>(lower_quantile(values, kShadow));
  return {low, static_cast<double>(lower_quantile(values, kHighlight))};
}

// Sums over the sky and over the object, separated by the green plane.
struct Sums {
  std::array<double, 3> sky{};
  std::array<double, 3> object{};
  double sky_px = 0;
  double object_px = 0;
};

Sums sums_of(const std::array<PlaneView, 3>& picture) {
  const Levels levels = levels_of(picture[1]);
  const double bright = levels.low + kObjectShare * (levels.high - levels.low);
  Sums sums;
  for (int y = 0; y < picture[0].height_px; ++y) {
    for (int x = 0; x < picture[0].width_px; ++x) {
      std::array<double, 3> light{};
      for (std::size_t c = 0; c < 3; ++c) light[c] = static_cast<double>(picture[c].row(y)[x]);
      if (*std::max_element(light.begin(), light.end()) >= kSaturated) continue;
      const bool object = light[1] > bright;
      (object ? sums.object_px : sums.sky_px) += 1;
      for (std::size_t c = 0; c < 3; ++c) (object ? sums.object : sums.sky)[c] += light[c];
    }
  }
  return sums;
}

}  // namespace

WhiteBalance gray_world(const std::array<PlaneView, 3>& picture) {
  const Sums sums = sums_of(picture);
  const bool has_sky = sums.sky_px > kSkyShare * static_cast<double>(picture[0].size().area_px());
  std::array<double, 3> light{};
  for (std::size_t c = 0; c < 3; ++c) {
    light[c] =
        sums.object[c] / std::max(sums.object_px, 1.0) - (has_sky ? sums.sky[c] / sums.sky_px : 0);
    if (!(light[c] > 0)) return {1, 1, 1};
  }
  return {light[1] / light[0], 1, light[1] / light[2]};
}

void balance(std::vector<Plane>& picture, const WhiteBalance& factors) {
  for (std::size_t c = 0; c < picture.size(); ++c)
    scale(picture[c].view(), static_cast<float>(factors[c]));
}

}  // namespace lull::finish
