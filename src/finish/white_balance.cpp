#include "finish/white_balance.h"

#include <algorithm>
#include <cmath>

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

Light sky_in(const Sums& sums, Size size) {
  if (!(sums.sky_px > kSkyShare * static_cast<double>(size.area_px()))) return {};
  return {sums.sky[0] / sums.sky_px, sums.sky[1] / sums.sky_px, sums.sky[2] / sums.sky_px};
}

}  // namespace

WhiteBalance gray_world(const std::array<PlaneView, 3>& picture) {
  return balance_to(picture, {1, 1, 1});
}

WhiteBalance balance_to(const std::array<PlaneView, 3>& picture, const Light& colour) {
  const Sums sums = sums_of(picture);
  const Light sky = sky_in(sums, picture[0].size());
  Light light{};
  for (std::size_t c = 0; c < 3; ++c) {
    light[c] = sums.object[c] / std::max(sums.object_px, 1.0) - sky[c];
    if (!(light[c] > 0)) return {1, 1, 1};
  }
  const auto factor = [&](std::size_t c) { return colour[c] / colour[1] * (light[1] / light[c]); };
  return {factor(0), 1, factor(2)};
}

Light sunlit_colour(double b_v, double v_r) {
  constexpr double kSunBV = 0.65;
  constexpr double kSunVR = 0.36;
  return {std::pow(10, 0.4 * (v_r - kSunVR)), 1, std::pow(10, -0.4 * (b_v - kSunBV))};
}

Light sky_of(const std::array<PlaneView, 3>& picture) {
  return sky_in(sums_of(picture), picture[0].size());
}

void balance(std::vector<Plane>& picture, const WhiteBalance& factors, const Light& sky) {
  for (std::size_t c = 0; c < picture.size(); ++c) {
    const auto factor = static_cast<float>(factors[c]);
    const auto more = static_cast<float>(sky[1] - factors[c] * sky[c]);
    for (int y = 0; y < picture[c].height(); ++y) {
      float* row = picture[c].row(y);
      for (int x = 0; x < picture[c].width(); ++x) row[x] = row[x] * factor + more;
    }
  }
}

}  // namespace lull::finish
