#include "finish/limb.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/parallel.h"
#include "core/statistics.h"

namespace lull::finish {

namespace {

constexpr double kEdgeLevel = 0.2;  // from sky to disc: below the darkened limb, above sky light
constexpr double kSky = 0.005;      // quantiles of the brightness
constexpr double kDisc = 0.95;
constexpr double kSkyOverDisc = 0.15;  // brighter surroundings are no sky
constexpr std::size_t kFewestPoints = 32;
constexpr double kKeptShare = 0.6;
constexpr double kWorstFitPx = 3;
constexpr int kRounds = 6;
constexpr double kOutermost = 0.99;    // of the radius, for factors
constexpr double kFitWithin = 0.97;    // for the law: beyond, blur mixes it with the sky
constexpr double kLeastFactor = 0.05;  // of the law's brightest place

struct Point {
  double x = 0;
  double y = 0;
};

// Solves 3 equations; none where they are singular.
std::optional<std::array<double, 3>> solve(std::array<std::array<double, 4>, 3> m) {
  for (std::size_t i = 0; i < 3; ++i) {
    std::size_t pivot = i;
    for (std::size_t r = i + 1; r < 3; ++r) {
      if (std::abs(m[r][i]) > std::abs(m[pivot][i])) pivot = r;
    }
    if (!(std::abs(m[pivot][i]) > 1e-12)) return std::nullopt;
    std::swap(m[i], m[pivot]);
    for (std::size_t r = 0; r < 3; ++r) {
      if (r == i) continue;
      const double factor = m[r][i] / m[i][i];
      for (std::size_t c = i; c < 4; ++c) m[r][c] -= factor * m[i][c];
    }
  }
  return std::array<double, 3>{m[0][3] / m[0][0], m[1][3] / m[1][1], m[2][3] / m[2][2]};
}

// Sums for a least-squares fit of a value by three terms.
class Fit {
 public:
  void add(const std::array<double, 3>& terms, double value) {
    for (std::size_t i = 0; i < 3; ++i) {
      for (std::size_t j = 0; j < 3; ++j) sums_[i][j] += terms[i] * terms[j];
      sums_[i][3] += terms[i] * value;
    }
  }

  [[nodiscard]] std::optional<std::array<double, 3>> solution() const { return solve(sums_); }

 private:
  std::array<std::array<double, 4>, 3> sums_{};
};

std::vector<Point> crossings(PlaneView picture, double level) {
  std::vector<Point> points;
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
        points.push_back({x + share(row[x], row[x + 1]), static_cast<double>(y)});
      if (crosses(row[x], next[x]))
        points.push_back({static_cast<double>(x), y + share(row[x], next[x])});
    }
  }
  return points;
}

// Coordinates are relative to a centre and scaled, which keeps the sums small.
std::optional<Circle> circle_through(const std::vector<Point>& points, double x0, double y0,
                                     double unit) {
  Fit fit;
  for (const Point& p : points) {
    const double x = (p.x - x0) / unit;
    const double y = (p.y - y0) / unit;
    fit.add({x, y, 1}, x * x + y * y);
  }
  const auto s = fit.solution();
  if (!s) return std::nullopt;
  const double x = (*s)[0] / 2;
  const double y = (*s)[1] / 2;
  const double square = (*s)[2] + x * x + y * y;
  if (!(square > 0)) return std::nullopt;
  return Circle{x0 + unit * x, y0 + unit * y, unit * std::sqrt(square)};
}

double miss(const Circle& circle, const Point& p) {
  return std::abs(std::hypot(p.x - circle.x_px, p.y - circle.y_px) - circle.radius_px);
}

double cosine_at(const Circle& limb, double x, double y) {
  const double r = std::hypot(x - limb.x_px, y - limb.y_px) / limb.radius_px;
  const double inside = std::min(r, kOutermost);
  return std::sqrt(1 - inside * inside);
}

using Law = std::array<double, 3>;

double value_of(const Law& law, double mu) { return law[0] + mu * (law[1] + mu * law[2]); }

// Brightness over the disc, spots and faculae left out.
std::optional<Law> law_of(PlaneView plane, const Circle& limb) {
  std::optional<Law> law;
  double tolerance = 0;
  const double least_mu = std::sqrt(1 - kFitWithin * kFitWithin);
  for (int round = 0; round < kRounds; ++round) {
    Fit fit;
    std::vector<double> misses;
    for (int y = 0; y < plane.height_px; ++y) {
      for (int x = 0; x < plane.width_px; ++x) {
        const double mu = cosine_at(limb, x, y);
        if (mu < least_mu) continue;
        const auto value = static_cast<double>(plane.row(y)[x]);
        const double off = law ? std::abs(value - value_of(*law, mu)) : 0;
        if (law) misses.push_back(off);
        if (!law || round == 1 || off <= tolerance) fit.add({1, mu, mu * mu}, value);
      }
    }
    if (!misses.empty()) tolerance = 2.5 * kMadToSigma * upper_median(std::move(misses));
    const auto found = fit.solution();
    if (!found) return law;
    law = found;
  }
  return law;
}

}  // namespace

std::optional<Circle> find_limb(PlaneView picture) {
  std::vector<float> values;
  for (int y = 0; y < picture.height_px; ++y)
    values.insert(values.end(), picture.row(y), picture.row(y) + picture.width_px);
  const auto sky = static_cast<double>(lower_quantile(values, kSky));
  const auto disc = static_cast<double>(lower_quantile(values, kDisc));
  if (!(disc > 0) || sky > kSkyOverDisc * disc) return std::nullopt;
  std::vector<Point> points = crossings(picture, sky + kEdgeLevel * (disc - sky));
  const auto all = static_cast<double>(points.size());
  std::optional<Circle> circle;
  for (int round = 0; round < kRounds && points.size() >= kFewestPoints; ++round) {
    circle = circle_through(points, picture.width_px / 2.0, picture.height_px / 2.0,
                            std::max(picture.width_px, picture.height_px));
    if (!circle) return std::nullopt;
    std::vector<double> misses;
    misses.reserve(points.size());
    for (const Point& p : points) misses.push_back(miss(*circle, p));
    const double tolerance = std::max(3 * kMadToSigma * upper_median(std::move(misses)), 0.5);
    std::erase_if(points, [&](const Point& p) { return miss(*circle, p) > tolerance; });
  }
  if (!circle || points.size() < kFewestPoints ||
      static_cast<double>(points.size()) < kKeptShare * all) {
    return std::nullopt;
  }
  double worst = 0;
  for (const Point& p : points) worst = std::max(worst, miss(*circle, p));
  if (worst > kWorstFitPx) return std::nullopt;
  return circle;
}

std::optional<LimbLaw> limb_law(PlaneView channel, const Circle& limb) {
  const auto law = law_of(channel, limb);
  if (!law) return std::nullopt;
  LimbLaw out{*law};
  for (int y = 0; y < channel.height_px; ++y) {
    for (int x = 0; x < channel.width_px; ++x)
      out.brightest = std::max(out.brightest, value_of(*law, cosine_at(limb, x, y)));
  }
  return out;
}

void divide_by(Plane& channel, const Circle& limb, const LimbLaw& law) {
  if (!(law.brightest > 0)) return;
  parallel_for(channel.height(), [&](std::int64_t row) {
    const int y = static_cast<int>(row);
    for (int x = 0; x < channel.width(); ++x) {
      const double share = value_of(law.terms, cosine_at(limb, x, y)) / law.brightest;
      channel.row(y)[x] /= static_cast<float>(std::max(share, kLeastFactor));
    }
  });
}

void flatten_limb(std::vector<Plane>& picture, const Circle& limb) {
  for (Plane& plane : picture) {
    if (const auto law = limb_law(plane.view(), limb)) divide_by(plane, limb, *law);
  }
}

}  // namespace lull::finish
