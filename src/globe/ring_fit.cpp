#include "globe/ring_fit.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "core/normal_equations.h"
#include "core/parallel.h"
#include "globe/limb_blur.h"
#include "globe/rings.h"

namespace lull::globe {

namespace {

constexpr double kLeastTiltDeg = 2;  // of the observer and the Sun above the rings' plane
constexpr double kBesideGlobe = 0.12;
constexpr double kBesideShadow = 0.1;
constexpr double kMiddle = 0.7;  // of the radius
constexpr double kBesideRings = 0.12;
constexpr double kDarkening = 0.8;
constexpr int kFine = 3;  // samples a side of a pixel
constexpr int kRounds = 10;
constexpr LightSpread kUsualSpread = {1.5, 0.3};
constexpr double kMostWider = 0.4;  // logarithm, in a round
constexpr double kSteady = 0.05;    // likewise
constexpr double kLeastCore_px = 0.4;
constexpr double kMostCore = 0.14;  // of the radius
constexpr double kMostHalo = 0.8;
constexpr double kStep_px = 0.02;
constexpr double kMostMoved = 0.1;   // of the radius
constexpr double kMostGrown = 0.04;  // likewise
constexpr double kLeastLight = 0.1;  // of ring B, over that of the globe
constexpr double kHold = 1e-6;       // of a pixel
constexpr std::size_t kLeastSamples = 200;

// Where C, the inner and the outer half of B, Cassini's division, A, and A beyond Encke's gap
// begin, in equatorial radii (from memory); A ends where the rings do.
constexpr std::array kZones = {kRingC, kRingB, 1.72, 1.951, kRingA, 2.216};
constexpr std::size_t kZoneB = 2;

// Parts of the picture whose light is free: rings, the globe, the sky.
constexpr std::size_t kGlobe = kZones.size();
constexpr std::size_t kDrawn = kGlobe + 1;
constexpr std::size_t kSky = kDrawn;
constexpr std::size_t kParts = kSky + 1;

enum Moved { moved_x, moved_y, moved_radius, moved_angle, wider, more_halo, moved_count };

constexpr std::size_t kUnknowns = moved_count + kParts;
using Unknowns = std::array<double, kUnknowns>;

class RingModel {
 public:
  RingModel(PlaneView picture, const GlobeShape& shape, const GlobePlace& start)
      : picture_(picture), shape_(shape) {
    const double reach = shape.ring_outer * (1 + kBesideRings) * start.radius_px;
    const int cx = static_cast<int>(std::lround(start.x_px));
    const int cy = static_cast<int>(std::lround(start.y_px));
    const int side = static_cast<int>(reach) + 2;
    // Beyond the picture too: rings that its edge cuts are blurred into it.
    box_ = {cx - side, cy - side, cx + side + 1, cy + side + 1};
    collect(start);
  }

  // Mean of the globe's middle, less the sky that was found.
  [[nodiscard]] double globe_over_sky(const Unknowns& now) const {
    return globe_light_ - sky_light(now);
  }

  [[nodiscard]] bool has_samples() const { return samples_.size() > kLeastSamples; }

  // The best step from what was found so far, and the light of the parts.
  [[nodiscard]] Unknowns step(const RingFit& at, RingSearch search, const Unknowns& now) const {
    const Drawing drawing = drawn(at);
    const Plane core = sum_of(drawing.core, now);
    const Plane halo = sum_of(drawing.halo, now);
    const double share = at.spread.halo_share;
    const Plane sum = mixed(core, halo, share);
    const GlobePlace& place = at.place;
    NormalEquations<kUnknowns> sums;
    for (const Place& sample : samples_) {
      const int x = sample.x - box_.x0;
      const int y = sample.y - box_.y0;
      const Gradient gradient = gradient_at(sum, x, y);
      const double dx = sample.x - place.x_px;
      const double dy = sample.y - place.y_px;
      Unknowns row{};
      row[moved_x] = -gradient.x;
      row[moved_y] = -gradient.y;
      row[moved_radius] = -(dx * gradient.x + dy * gradient.y) / place.radius_px;
      row[moved_angle] = dy * gradient.x - dx * gradient.y;
      row[wider] = (1 - share) * spreading_at(core, x, y, at.spread.core_px) +
                   share * spreading_at(halo, x, y, at.spread.halo_px());
      row[more_halo] = static_cast<double>(halo.row(y)[x] - core.row(y)[x]);
      for (std::size_t i = 0; i < kDrawn; ++i)
        row[moved_count + i] = (1 - share) * static_cast<double>(drawing.core[i].row(y)[x]) +
                               share * static_cast<double>(drawing.halo[i].row(y)[x]);
      row[moved_count + kSky] = 1;
      sums.add(row, static_cast<double>(picture_.at(sample.x, sample.y)));
    }
    for (std::size_t i = 0; i < kUnknowns; ++i) {
      Unknowns row{};
      row[i] = 1;
      sums.add(row, 0, kHold);
    }
    // Of the globe samples hold its halo at most.
    Unknowns of_globe{};
    of_globe[moved_count + kGlobe] = 1;
    sums.add(of_globe, globe_over_sky(now));
    // Without light of its own the model has no slopes.
    const bool first = now[moved_count + kGlobe] == 0;
    for (std::size_t i = 0; i < moved_count; ++i) {
      if (first || (i == moved_radius && !search.radius) || (i == moved_angle && !search.angle))
        sums.fix(i);
    }
    return sums.solution().value_or(Unknowns{});
  }

 private:
  [[nodiscard]] static double sky_light(const Unknowns& now) { return now[moved_count + kSky]; }

  void collect(const GlobePlace& start) {
    GlobePlace larger = start;
    larger.radius_px *= 1 + kBesideGlobe;
    const GlobeView globe(shape_, larger);
    const GlobeView view(shape_, start);
    GlobePlace middle = start;
    middle.radius_px *= kMiddle;
    const GlobeView inner(shape_, middle);
    int n = 0;
    for (int y = std::max(box_.y0, 1); y < std::min(box_.y1, picture_.height_px - 1); ++y) {
      for (int x = std::max(box_.x0, 1); x < std::min(box_.x1, picture_.width_px - 1); ++x) {
        if (x <= box_.x0 || y <= box_.y0 || x + 1 >= box_.x1 || y + 1 >= box_.y1) continue;
        if (inner.holds(x, y) && !is_changed_by_rings(view, x, y)) {
          globe_light_ += static_cast<double>(picture_.at(x, y));
          ++n;
        }
        if (globe.holds(x, y) || is_beside_rings(view, x, y, kBesideRings)) continue;
        const auto ring = ring_at(view, x, y);
        if (ring && ring->sun_passes < 1 + kBesideShadow) continue;
        samples_.push_back({x, y});
      }
    }
    globe_light_ /= std::max(n, 1);
  }

  // All parts, each with light 1, under the core of the spread and under its halo.
  struct Drawing {
    std::vector<Plane> core;
    std::vector<Plane> halo;
  };

  [[nodiscard]] Drawing drawn(const RingFit& at) const {
    const GlobeView view(shape_, at.place);
    std::vector<Plane> parts;
    for (std::size_t i = 0; i < kDrawn; ++i) parts.emplace_back(box_.width_px(), box_.height_px());
    parallel_for(box_.height_px(), [&](std::int64_t line) {
      const int row = static_cast<int>(line);
      for (int column = 0; column < box_.width_px(); ++column) {
        const int x = box_.x0 + column;
        const int y = box_.y0 + row;
        if (!view.holds(x, y) && is_beside_rings(view, x, y, kBesideRings)) continue;
        for (int i = 0; i < kFine * kFine; ++i) {
          const auto place = lit_place(view, x + (i % kFine + 0.5) / kFine - 0.5,
                                       y + (i / kFine + 0.5) / kFine - 0.5, kZones, kDarkening);
          if (place)
            parts[place->part].row(row)[column] +=
                static_cast<float>(place->light / (kFine * kFine));
        }
      }
    });
    Drawing out;
    for (const Plane& part : parts) {
      out.core.push_back(blurred(part, at.spread.core_px));
      out.halo.push_back(blurred(part, at.spread.halo_px()));
    }
    return out;
  }

  [[nodiscard]] static Plane sum_of(const std::vector<Plane>& parts, const Unknowns& now) {
    Plane sum(parts.front().size());
    for (std::size_t i = 0; i < kDrawn; ++i)
      sum = weighted_sum(sum.view(), static_cast<float>(now[moved_count + i]), parts[i].view());
    return sum;
  }

  PlaneView picture_;
  GlobeShape shape_;
  Box box_{};
  std::vector<Place> samples_{};
  double globe_light_ = 0;
};

}  // namespace

bool tell_place(const GlobeShape& shape) {
  const double least = std::sin(kLeastTiltDeg * sky::kDegree);
  const double observer = shape.to_observer.at[2];
  const double sun = shape.to_sun.at[2];
  return shape.is_ringed() && observer * sun > 0 &&
         std::min(std::abs(observer), std::abs(sun)) > least;
}

std::optional<RingFit> fit_rings(PlaneView picture, const GlobeShape& shape,
                                 const GlobePlace& start, RingSearch search) {
  const RingModel model(picture, shape, start);
  if (!model.has_samples()) return std::nullopt;
  RingFit fit{start, kUsualSpread};
  Unknowns now{};
  for (int round = 0; round < kRounds; ++round) {
    const bool first = round == 0;
    now = model.step(fit, search, now);
    GlobePlace& place = fit.place;
    place.x_px += now[moved_x];
    place.y_px += now[moved_y];
    place.radius_px += now[moved_radius];
    place.pole_clockwise_rad += now[moved_angle];
    LightSpread& spread = fit.spread;
    spread.core_px *= std::exp(std::clamp(now[wider], -kMostWider, kMostWider));
    spread.core_px = std::clamp(spread.core_px, kLeastCore_px, kMostCore * start.radius_px);
    spread.halo_share = std::clamp(spread.halo_share + now[more_halo], 0.0, kMostHalo);
    if (std::hypot(place.x_px - start.x_px, place.y_px - start.y_px) >
            kMostMoved * start.radius_px ||
        std::abs(place.radius_px / start.radius_px - 1) > kMostGrown)
      return std::nullopt;
    const double moved_px = std::max({std::abs(now[moved_x]), std::abs(now[moved_y]),
                                      shape.ring_outer * std::abs(now[moved_radius])});
    if (!first && moved_px < kStep_px && std::abs(now[wider]) < kSteady) break;
  }
  if (now[moved_count + kZoneB] < kLeastLight * model.globe_over_sky(now)) return std::nullopt;
  return fit;
}

}  // namespace lull::globe
