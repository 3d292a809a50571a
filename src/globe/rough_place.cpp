#include "globe/rough_place.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "core/normal_equations.h"
#include "core/reduced.h"
#include "core/statistics.h"
#include "globe/rings.h"

namespace lull::globe {

namespace {

constexpr double kLeastRadius_px = 10;
constexpr double kRoughLevel = 0.4;  // between the sky and the brightest
constexpr double kMostSky = 0.3;     // of the brightest: more is no sky
constexpr double kMostOfPicture = 0.8;

// What is bright in a picture: its pixels, their middle, and their spread.
struct BrightArea {
  double n = 0;
  double x = 0;
  double y = 0;
  double xx = 0;
  double xy = 0;
  double yy = 0;
};

std::optional<BrightArea> bright_area(PlaneView picture) {
  std::vector<float> values;
  for (int y = 0; y < picture.height_px; ++y)
    values.insert(values.end(), picture.row(y), picture.row(y) + picture.width_px);
  const auto low = static_cast<double>(lower_quantile(values, 0.1));
  const auto high = static_cast<double>(lower_quantile(values, 0.999));
  if (low > kMostSky * high) return std::nullopt;
  const double level = low + kRoughLevel * (high - low);
  BrightArea sum;
  for (int y = 0; y < picture.height_px; ++y) {
    for (int x = 0; x < picture.width_px; ++x) {
      if (static_cast<double>(picture.at(x, y)) <= level) continue;
      sum.n += 1;
      sum.x += x;
      sum.y += y;
      sum.xx += static_cast<double>(x) * x;
      sum.xy += static_cast<double>(x) * y;
      sum.yy += static_cast<double>(y) * y;
    }
  }
  if (sum.n == 0 || sum.n > kMostOfPicture * static_cast<double>(values.size()))
    return std::nullopt;
  const double x = sum.x / sum.n;
  const double y = sum.y / sum.n;
  return BrightArea{
      sum.n, x, y, sum.xx / sum.n - x * x, sum.xy / sum.n - x * y, sum.yy / sum.n - y * y};
}

// Ringed globes are looked for in pixels in which they have about this radius.
constexpr double kCoarse_px = 20;
constexpr double kDarkening = 0.8;
constexpr std::array kRings = {kRingC, kRingB, kRingA};
constexpr double kBrightFrom = 1.5;
// Radii that are tried, over what the bright area says: rings may be dark or bright.
constexpr double kLeast = 0.6;
constexpr double kMost = 1.7;
constexpr double kStep = 1.06;
constexpr double kFirstStep = 0.06;  // of the radius, in the search around the best of them
constexpr int kHalvings = 4;
constexpr int kMostSteps = 8;   // of one length: where rings are cut, what is bright lies aside
constexpr double kHold = 1e-6;  // so that a ring that is not seen has no light

constexpr std::size_t kParts = kRings.size() + 2;
using Parts = std::array<double, kParts>;  // sky, rings, globe

Parts parts_at(const GlobeView& view, double x_px, double y_px) {
  Parts parts{1};
  if (const auto place = lit_place(view, x_px, y_px, kRings, kDarkening))
    parts[1 + place->part] = place->light;
  return parts;
}

// What the best brightnesses of the parts leave of a picture, squares.
double misfit(PlaneView picture, const GlobeShape& shape, const GlobePlace& place) {
  const GlobeView view(shape, place);
  NormalEquations<kParts> sums;
  std::vector<Parts> all;
  all.reserve(static_cast<std::size_t>(picture.width_px) *
              static_cast<std::size_t>(picture.height_px));
  for (int y = 0; y < picture.height_px; ++y) {
    for (int x = 0; x < picture.width_px; ++x) {
      all.push_back(parts_at(view, x, y));
      sums.add(all.back(), static_cast<double>(picture.at(x, y)));
    }
  }
  for (std::size_t i = 0; i < kParts; ++i) {
    Parts one{};
    one[i] = 1;
    sums.add(one, 0, kHold * static_cast<double>(all.size()));
  }
  const Parts light = sums.solution().value_or(Parts{});
  double sum = 0;
  auto parts = all.begin();
  for (int y = 0; y < picture.height_px; ++y) {
    for (int x = 0; x < picture.width_px; ++x, ++parts) {
      double left = static_cast<double>(picture.at(x, y));
      for (std::size_t i = 0; i < kParts; ++i) left -= light[i] * (*parts)[i];
      sum += left * left;
    }
  }
  return sum;
}

// Pixels of globe and bright rings, in squares of the radius.
double bright_squares(const GlobeShape& shape) {
  const double middle = std::ceil(shape.ring_outer * kCoarse_px);
  const GlobeView view(shape, {middle, middle, kCoarse_px, 0, false});
  double n = 0;
  for (int y = 0; y <= 2 * middle; ++y) {
    for (int x = 0; x <= 2 * middle; ++x) {
      const auto ring = ring_at(view, x, y);
      n += (ring && ring->radius > kBrightFrom) || view.holds(x, y) ? 1 : 0;
    }
  }
  return n / (kCoarse_px * kCoarse_px);
}

// From a place on, in smaller and smaller steps.
GlobePlace nearest_place(PlaneView picture, const GlobeShape& shape, GlobePlace place) {
  double least = misfit(picture, shape, place);
  double step_px = kFirstStep * place.radius_px;
  const auto try_moved = [&](double GlobePlace::*value, double by) {
    GlobePlace other = place;
    other.*value += by;
    const double then = misfit(picture, shape, other);
    if (then >= least) return false;
    place = other;
    least = then;
    return true;
  };
  for (int i = 0; i < kHalvings; ++i, step_px /= 2) {
    bool moved = true;
    for (int steps = 0; moved && steps < kMostSteps; ++steps) {
      moved = false;
      for (const auto value : {&GlobePlace::x_px, &GlobePlace::y_px, &GlobePlace::radius_px})
        moved = try_moved(value, step_px) || try_moved(value, -step_px) || moved;
    }
  }
  return place;
}

GlobePlace ringed_place(PlaneView picture, const GlobeShape& shape, GlobePlace place,
                        const BrightArea& bright, Angles angles) {
  if (angles == Angles::unknown)
    place.pole_clockwise_rad = 0.5 * std::atan2(2 * bright.xy, bright.xx - bright.yy);
  place.x_px = bright.x;
  place.y_px = bright.y;
  const double about_px = std::sqrt(bright.n / bright_squares(shape));
  place.radius_px = about_px;
  const int factor = std::max(1, static_cast<int>(about_px / kCoarse_px));
  const Plane coarse = reduced(picture, factor);
  GlobePlace best = place.in_pixels_of(factor);
  double least = misfit(coarse.view(), shape, best);
  for (double ratio = kLeast; ratio < kMost; ratio *= kStep) {
    GlobePlace other = place.in_pixels_of(factor);
    other.radius_px *= ratio;
    const double then = misfit(coarse.view(), shape, other);
    if (then >= least) continue;
    best = other;
    least = then;
  }
  return nearest_place(coarse.view(), shape, best).in_pixels_of(1.0 / factor);
}

}  // namespace

std::optional<GlobePlace> rough_place(PlaneView picture, const GlobeShape& shape,
                                      const GlobePlace& given, Angles angles) {
  const auto bright = bright_area(picture);
  if (!bright) return std::nullopt;
  GlobePlace place = given;
  if (shape.is_ringed()) {
    place = ringed_place(picture, shape, given, *bright, angles);
  } else {
    const double tilt = shape.to_observer.latitude_rad();
    const double height = std::hypot(std::sin(tilt), shape.axis_ratio * std::cos(tilt));
    place.radius_px = std::sqrt(bright->n / (std::numbers::pi * height));
    place.x_px = bright->x;
    place.y_px = bright->y;
  }
  if (place.radius_px < kLeastRadius_px) return std::nullopt;
  return place;
}

}  // namespace lull::globe
