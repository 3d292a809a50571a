#include "core/disc_edge.h"

#include <algorithm>
#include <cmath>
#include <random>

#include "core/normal_equations.h"
#include "core/statistics.h"

namespace lull {

namespace {

constexpr double kEdgeLevel = 0.2;
constexpr double kSky = 0.005;  // quantiles of the brightness
constexpr double kDisc = 0.95;
constexpr double kSkyOverDisc = 0.15;  // brighter surroundings are no sky
constexpr std::size_t kFewestPlaces = 32;
constexpr int kRounds = 6;
constexpr int kTries = 200;
constexpr double kLeastTolerancePx = 0.5;

// Coordinates are relative to the middle and scaled, which keeps the sums small.
std::optional<Circle> circle_through(const std::vector<Displacement>& places) {
  Displacement least = places.front();
  Displacement most = places.front();
  for (const Displacement& place : places) {
    least = {std::min(least.x_px, place.x_px), std::min(least.y_px, place.y_px)};
    most = {std::max(most.x_px, place.x_px), std::max(most.y_px, place.y_px)};
  }
  const Displacement middle = {0.5 * (least.x_px + most.x_px), 0.5 * (least.y_px + most.y_px)};
  const double unit_px = std::max({most.x_px - least.x_px, most.y_px - least.y_px, 1.0});
  NormalEquations<3> sums;
  for (const Displacement& place : places) {
    const double x = (place.x_px - middle.x_px) / unit_px;
    const double y = (place.y_px - middle.y_px) / unit_px;
    sums.add({x, y, 1}, x * x + y * y);
  }
  const auto found = sums.solution();
  if (!found) return std::nullopt;
  const double x = (*found)[0] / 2;
  const double y = (*found)[1] / 2;
  const double square = (*found)[2] + x * x + y * y;
  if (!(square > 0)) return std::nullopt;
  return Circle{middle.x_px + unit_px * x, middle.y_px + unit_px * y, unit_px * std::sqrt(square)};
}

double usual_miss_px(const Circle& circle, const std::vector<Displacement>& places) {
  std::vector<double> misses;
  misses.reserve(places.size());
  for (const Displacement& place : places) misses.push_back(std::abs(circle.outside_px(place)));
  return upper_median(std::move(misses));
}

// Of circles through three places each, the one from which half of all lie least far off: least
// median of squares (Rousseeuw 1984, J. Am. Stat. Assoc. 79, 871).
std::optional<Circle> circle_of_most(const std::vector<Displacement>& places) {
  std::optional<Circle> best;
  if (places.size() < kFewestPlaces) return best;
  double least_px = 0;
  std::minstd_rand random;  // the same on every machine
  const auto any = [&] { return places[random() % places.size()]; };
  for (int i = 0; i < kTries; ++i) {
    const auto circle = circle_through({any(), any(), any()});
    if (!circle) continue;
    const double usual_px = usual_miss_px(*circle, places);
    if (best && usual_px >= least_px) continue;
    best = circle;
    least_px = usual_px;
  }
  return best;
}

}  // namespace

std::optional<double> edge_level(std::vector<float>& values) {
  if (values.empty()) return std::nullopt;
  const auto sky = static_cast<double>(lower_quantile(values, kSky));
  const auto disc = static_cast<double>(lower_quantile(values, kDisc));
  if (!(disc > 0) || sky > kSkyOverDisc * disc) return std::nullopt;
  return sky + kEdgeLevel * (disc - sky);
}

double Circle::outside_px(Displacement place) const {
  return std::hypot(place.x_px - x_px, place.y_px - y_px) - radius_px;
}

std::vector<Displacement> level_crossings(PlaneView picture, double level) {
  std::vector<Displacement> out;
  const auto share = [level](float a, float b) {
    return (level - static_cast<double>(a)) / (static_cast<double>(b) - static_cast<double>(a));
  };
  const auto crosses = [level](float a, float b) {
    return (static_cast<double>(a) < level) != (static_cast<double>(b) < level);
  };
  for (int y = 0; y < picture.height_px; ++y) {
    const float* row = picture.row(y);
    const float* next = picture.row(std::min(y + 1, picture.height_px - 1));
    for (int x = 0; x < picture.width_px; ++x) {
      if (x + 1 < picture.width_px && crosses(row[x], row[x + 1]))
        out.push_back({x + share(row[x], row[x + 1]), static_cast<double>(y)});
      if (crosses(row[x], next[x]))
        out.push_back({static_cast<double>(x), y + share(row[x], next[x])});
    }
  }
  return out;
}

std::optional<CircleFit> fit_circle(std::vector<Displacement> places) {
  const auto all = static_cast<double>(places.size());
  std::optional<Circle> circle = circle_of_most(places);
  const auto miss = [&](Displacement place) { return std::abs(circle->outside_px(place)); };
  for (int round = 0; round < kRounds; ++round) {
    if (!circle || places.size() < kFewestPlaces) return std::nullopt;
    const double tolerance_px =
        std::max(3 * kMadToSigma * usual_miss_px(*circle, places), kLeastTolerancePx);
    std::erase_if(places, [&](Displacement place) { return miss(place) > tolerance_px; });
    if (places.size() >= kFewestPlaces) circle = circle_through(places);
  }
  if (!circle || places.size() < kFewestPlaces) return std::nullopt;
  CircleFit out{*circle, static_cast<double>(places.size()) / all};
  for (const Displacement& place : places) out.worst_px = std::max(out.worst_px, miss(place));
  return out;
}

}  // namespace lull
