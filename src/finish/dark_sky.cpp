#include "finish/dark_sky.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "core/neighbourhood.h"
#include "core/parallel.h"
#include "core/statistics.h"
#include "finish/atrous.h"
#include "finish/telescope.h"
#include "spectrum/continuation.h"
#include "spectrum/patch_grid.h"

namespace lull::finish {

namespace {

constexpr double kFaintest = 0.01;  // quantiles of the brightness
constexpr double kBright = 0.95;
constexpr double kSkyLevel = 0.1;       // from sky to object: below, all is sky
constexpr double kOutlineLevel = 0.12;  // likewise, restored
constexpr float kLeastTransfer = 0.05F;
constexpr int kSpeckPx = 1;    // half the width of what is no object
constexpr int kMarginPx = 2;   // around it
constexpr int kNearPx = 32;    // of the object: farther out light of other origin counts more
constexpr int kBorderPx = 12;  // where the edge shows
constexpr int kWindowPx = 512;
constexpr double kLeastFar = 0.02;  // of the picture
constexpr float kDarkerBy = 3;      // times the noise
constexpr double kFloor = 0.02;     // of the transfer that is taken back
constexpr int kCores = 6;
constexpr int kHalos = 10;
constexpr double kLeastCore = 0.05;
constexpr double kMostCore = 0.8;
constexpr double kLeastHalo = 0.16;  // of the cutoff
constexpr double kMostHalo = 0.7;
constexpr double kDevianceScale = 10;  // times the log of the variance
constexpr double kLeastLight = 1e-9;   // least variance that counts
// The sky is darkest for a halo that is narrower than that of the object's detail, since the wings
// of the air's blur are wider than the model's; from captures of known truth (bench/DECISIONS.md).
constexpr double kWings = 0.92;
constexpr int kTable = 1024;  // steps of a cycle/px

Plane grown(const Plane& mask, int by) { return highest_nearby(mask, by); }

Plane shrunk(const Plane& mask, int by) { return lowest_nearby(mask, by); }

// Of sky and object.
struct Levels {
  float sky = 0;
  float object = 0;

  [[nodiscard]] float at(double share) const {
    return sky + static_cast<float>(share) * (object - sky);
  }
};

std::vector<float> values_of(PlaneView picture) {
  std::vector<float> values;
  for (int y = 0; y < picture.height_px; ++y)
    values.insert(values.end(), picture.row(y), picture.row(y) + picture.width_px);
  return values;
}

Levels levels_of(PlaneView picture) {
  std::vector<float> values = values_of(picture);
  return {lower_quantile(values, kFaintest), lower_quantile(values, kBright)};
}

double share_below(PlaneView picture, float level) {
  double count = 0;
  for (int y = 0; y < picture.height_px; ++y)
    count += static_cast<double>(std::count_if(picture.row(y), picture.row(y) + picture.width_px,
                                               [level](float v) { return v < level; }));
  return count / (static_cast<double>(picture.width_px) * picture.height_px);
}

// 1 where the object is.
Plane object_in(const Plane& restored, const Levels& levels) {
  Plane mask(restored.size());
  const float level = levels.at(kOutlineLevel);
  for (int y = 0; y < mask.height(); ++y) {
    for (int x = 0; x < mask.width(); ++x)
      mask.row(y)[x] = restored.row(y)[x] > level ? 1.0F : 0.0F;
  }
  return grown(shrunk(mask, kSpeckPx), kSpeckPx + kMarginPx);
}

// 1 in the sky far from the object, or in all of it where there is no such.
Plane far_sky(const Plane& object) {
  for (const int reach : {2 * kNearPx, kNearPx, 0}) {
    Plane out = grown(object, reach);
    double count = 0;
    for (int y = 0; y < out.height(); ++y) {
      for (int x = 0; x < out.width(); ++x) {
        out.row(y)[x] = 1 - out.row(y)[x];
        count += static_cast<double>(out.row(y)[x]);
      }
    }
    if (count > kLeastFar * out.width() * out.height() || reach == 0) return out;
  }
  return {};
}

// 1 in the sky near the object, away from the borders of the window.
Plane near_sky(const Plane& object) {
  Plane out = grown(object, kNearPx);
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) {
      const bool border = x < kBorderPx || y < kBorderPx || x >= out.width() - kBorderPx ||
                          y >= out.height() - kBorderPx;
      if (border) out.row(y)[x] = 0;
      out.row(y)[x] -= out.row(y)[x] * object.row(y)[x];
    }
  }
  return out;
}

double sum_of(PlaneView plane) {
  double sum = 0;
  for (int y = 0; y < plane.height_px; ++y)
    for (int x = 0; x < plane.width_px; ++x) sum += static_cast<double>(plane.row(y)[x]);
  return sum;
}

// Part of a large picture that holds most of the sky near the object.
Box window_of(const Plane& near) {
  const int width = std::min(near.width(), kWindowPx);
  const int height = std::min(near.height(), kWindowPx);
  Box best{0, 0, width, height};
  double most = -1;
  for (const int y : spectrum::patch_starts(0, near.height(), height)) {
    for (const int x : spectrum::patch_starts(0, near.width(), width)) {
      const Box box{x, y, x + width, y + height};
      const double sum = sum_of(near.view().crop(box));
      if (sum > most) {
        most = sum;
        best = box;
      }
    }
  }
  return best;
}

// Values by frequency, for quick reading.
using Table = std::vector<float>;

template <class Value>
Table table_of(const Value& value) {
  Table table;
  for (int i = 0; i <= kTable; ++i) table.push_back(static_cast<float>(value(i / (kTable * 1.0))));
  return table;
}

void multiply(spectrum::Spectrum& spectrum, const Table& by) {
  for (int r = 0; r < spectrum.rows(); ++r) {
    for (int c = 0; c < spectrum.columns(); ++c) {
      const double f = std::hypot(spectrum.frequency_x(c), spectrum.frequency_y(r));
      spectrum.row(r)[c] *= by[static_cast<std::size_t>(std::lround(f * kTable))];
    }
  }
}

double core_at(int i) { return kLeastCore * std::pow(kMostCore / kLeastCore, i / (kCores - 1.0)); }

double halo_at(int j) { return kLeastHalo * std::pow(kMostHalo / kLeastHalo, j / (kHalos - 1.0)); }

// Place of a value on a scale of logarithms with so many marks.
double place_of(double value, double least, double most, int marks) {
  return (marks - 1) * std::log(std::clamp(value, least, most) / least) / std::log(most / least);
}

}  // namespace

std::optional<float> sky_level(PlaneView picture) {
  const Levels levels = levels_of(picture);
  const float level = levels.at(kSkyLevel);
  if (!(levels.object > levels.sky) || share_below(picture, level) < kLeastSky) return std::nullopt;
  return level;
}

std::optional<DarkSky> DarkSky::find(PlaneView picture,
                                     const std::vector<spectrum::FilterPoint>& wiener_weight,
                                     const Blur& blur) {
  if (!sky_level(picture)) return std::nullopt;
  std::vector<spectrum::FilterPoint> gains = wiener_weight;
  for (spectrum::FilterPoint& point : gains) {
    point.gain /= std::max(blur.transfer(point.frequency), static_cast<double>(kLeastTransfer));
  }
  spectrum::Extended large = spectrum::continued(picture);
  spectrum::filter(large.plane, gains);
  const Plane restored = Plane::copy_of(std::as_const(large.plane).view().crop(large.inside));
  Levels levels = levels_of(restored.view());
  std::vector<float> dark = values_of(restored.view());
  std::erase_if(dark, [level = levels.at(kOutlineLevel)](float v) { return v > level; });
  if (dark.empty()) return std::nullopt;
  levels.sky = upper_median(std::move(dark));
  const Plane object = object_in(restored, levels);
  const Plane near = near_sky(object);
  const Box window = window_of(near);

  DarkSky out;
  out.far_ = far_sky(object);
  out.wiener_weight_ = wiener_weight;
  spectrum::Extended light = spectrum::continued(picture.crop(window));
  for (int y = 0; y < light.plane.height(); ++y) {
    for (int x = 0; x < light.plane.width(); ++x) {
      float& value = light.plane.row(y)[x];
      value = (value - levels.sky) / (levels.object - levels.sky);
    }
  }
  spectrum::Fft(light.plane.size()).forward(std::as_const(light.plane).view(), out.light_);
  out.beyond_ = atrous(spectrum::mirrored(object.view().crop(window)).plane.view(), 1).smooth;
  for (int y = 0; y < out.beyond_.height(); ++y) {
    for (int x = 0; x < out.beyond_.width(); ++x) out.beyond_.row(y)[x] = 1 - out.beyond_.row(y)[x];
  }
  for (int y = window.y0; y < window.y1; ++y) {
    for (int x = window.x0; x < window.x1; ++x) {
      if (near.row(y)[x] > 0)
        out.near_.push_back({x - window.x0 + light.inside.x0, y - window.y0 + light.inside.y0});
    }
  }
  if (out.near_.empty()) return std::nullopt;
  return out;
}

std::vector<float> DarkSky::far_values(PlaneView picture) const {
  std::vector<float> values;
  for (int y = 0; y < far_.height(); ++y) {
    for (int x = 0; x < far_.width(); ++x) {
      if (far_.row(y)[x] > 0) values.push_back(picture.row(y)[x]);
    }
  }
  return values;
}

std::optional<float> DarkSky::least_light(PlaneView before, const Noise& noise) const {
  std::vector<float> sky = far_values(before);
  if (sky.empty()) return std::nullopt;
  return upper_median(std::move(sky)) - kDarkerBy * spread_of(noise);
}

void limit_darkening(Plane& restored, const Box& part, PlaneView before, float least_light) {
  for (int y = 0; y < restored.height(); ++y) {
    float* row = restored.row(y);
    const float* stacked = before.row(y + part.y0) + part.x0;
    for (int x = 0; x < restored.width(); ++x)
      row[x] = std::max(row[x], std::min(least_light, stacked[x]));
  }
}

// Standard deviation in the far sky.
float DarkSky::spread_of(const Noise& noise) const {
  if (const auto* sigma = std::get_if<double>(&noise)) return static_cast<float>(*sigma);
  std::vector<float> sizes = far_values(std::get<PlaneView>(noise));
  for (float& size : sizes) size = std::abs(size);
  return static_cast<float>(kMadToSigma) * upper_median(std::move(sizes));
}

double DarkSky::residual_light(const Blur& blur) const {
  const auto passed = [&](double f) {
    return telescope_transfer(f / blur.cutoff) * blur.transfer(f);
  };
  const Table taken = table_of([&](double f) {
    const double m = passed(f);
    return gain_at(wiener_weight_, f) * m / (m * m + kFloor * kFloor);
  });
  spectrum::Fft fft(beyond_.size());
  spectrum::Spectrum spectrum(beyond_.size());
  for (int r = 0; r < spectrum.rows(); ++r)
    std::copy(light_.row(r), light_.row(r) + light_.columns(), spectrum.row(r));
  multiply(spectrum, taken);
  Plane plane(beyond_.size());
  fft.inverse(spectrum, plane.view());
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) plane.row(y)[x] *= beyond_.row(y)[x];
  }
  fft.forward(std::as_const(plane).view(), spectrum);
  multiply(spectrum, table_of(passed));
  fft.inverse(spectrum, plane.view());
  double sum = 0;
  double squares = 0;
  for (const Place& place : near_) {
    const auto value = static_cast<double>(plane.row(place.y)[place.x]);
    sum += value;
    squares += value * value;
  }
  const auto count = static_cast<double>(near_.size());
  return squares / count - sum / count * (sum / count);
}

Deviance DarkSky::deviance(double cutoff) const {
  std::array<double, std::size_t{kCores} * kHalos> table{};
  parallel_for(std::ssize(table), [&](std::int64_t n) {
    const int i = static_cast<int>(n) / kHalos;
    const int j = static_cast<int>(n) % kHalos;
    table[static_cast<std::size_t>(n)] =
        kDevianceScale *
        std::log(std::max(residual_light({core_at(i), halo_at(j) * cutoff, cutoff}), kLeastLight));
  });
  const auto at = [table](int i, int j) {
    return table[static_cast<std::size_t>(i) * kHalos + static_cast<std::size_t>(j)];
  };
  return [at](double core, double halo_share) {
    const double x = place_of(core, kLeastCore, kMostCore, kCores);
    const double y = place_of(kWings * halo_share, kLeastHalo, kMostHalo, kHalos);
    const int i = std::min(static_cast<int>(x), kCores - 2);
    const int j = std::min(static_cast<int>(y), kHalos - 2);
    const double u = x - i;
    const double v = y - j;
    return (1 - u) * ((1 - v) * at(i, j) + v * at(i, j + 1)) +
           u * ((1 - v) * at(i + 1, j) + v * at(i + 1, j + 1));
  };
}

}  // namespace lull::finish
