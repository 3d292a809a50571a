#include "mosaic/limb_curve.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "core/normal_equations.h"
#include "core/statistics.h"
#include "mosaic/tie.h"

namespace lull::mosaic {

namespace {

constexpr double kKeptShare = 0.6;    // of crossings: spots cross the level too
constexpr double kStepDeg = 5;        // of the limb, seen or not
constexpr double kLeastSeenDeg = 30;  // a shorter piece could as well be straight
constexpr int kRounds = 5;

std::optional<double> edge_level_of(const std::vector<Plane>& lights) {
  std::vector<float> values;
  for (const Plane& light : lights) {
    for (int y = 0; y < light.height(); ++y)
      values.insert(values.end(), light.row(y), light.row(y) + light.width());
  }
  return edge_level(values);
}

Gaps gaps_of(const std::vector<Displacement>& places, const LimbCurve& curve) {
  Gaps out;
  for (const Displacement& place : places)
    out.add(place - curve.at(curve.angle_rad(place)), Information(1));
  out.judge();
  return out;
}

// One step of the least squares. @return false where there is none.
bool step(LimbCurve& curve, const std::vector<Displacement>& places,
          const std::vector<double>& trusted, bool flattening_known) {
  const double radius = curve.circle.radius_px;
  NormalEquations<5> sums;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const double angle = curve.angle_rad(places[i]);
    const double off = curve.circle.outside_px(places[i]) + radius - curve.radius_px(angle);
    sums.add({std::cos(angle), std::sin(angle), 1, radius * std::cos(2 * angle),
              radius * std::sin(2 * angle)},
             off, trusted[i]);
  }
  if (flattening_known) {
    sums.fix(3);
    sums.fix(4);
  }
  const auto found = sums.solution();
  if (!found) return false;
  curve.circle.x_px += (*found)[0];
  curve.circle.y_px += (*found)[1];
  curve.circle.radius_px += (*found)[2];
  curve.flattening.by_cosine += (*found)[3];
  curve.flattening.by_sine += (*found)[4];
  return true;
}

}  // namespace

double Flattening::share() const {
  const double part = std::hypot(by_cosine, by_sine);
  return 2 * part / (1 + part);
}

double LimbCurve::radius_px(double angle_rad) const {
  return circle.radius_px * (1 + flattening.by_cosine * std::cos(2 * angle_rad) +
                             flattening.by_sine * std::sin(2 * angle_rad));
}

Displacement LimbCurve::at(double angle_rad) const {
  const double radius = radius_px(angle_rad);
  return {circle.x_px + radius * std::cos(angle_rad), circle.y_px + radius * std::sin(angle_rad)};
}

double LimbCurve::angle_rad(Displacement place) const {
  return std::atan2(place.y_px - circle.y_px, place.x_px - circle.x_px);
}

double LimbCurve::seen_deg(const std::vector<Displacement>& places) const {
  std::set<int> steps;
  for (const Displacement& place : places)
    steps.insert(
        static_cast<int>(std::floor(angle_rad(place) * 180 / std::numbers::pi / kStepDeg)));
  return kStepDeg * static_cast<double>(steps.size());
}

std::optional<LimbCurve> rough_limb(const std::vector<Sketch>& sketches,
                                    const std::vector<PanelMap>& maps,
                                    const std::vector<PanelIndex>& group) {
  std::vector<Plane> lights;
  lights.reserve(group.size());
  for (const PanelIndex panel : group) lights.push_back(luminance_of(sketches[panel].light));
  const auto level = edge_level_of(lights);
  if (!level) return std::nullopt;
  std::vector<Displacement> edge;
  for (std::size_t i = 0; i < group.size(); ++i) {
    for (const Displacement& place : level_crossings(lights[i].view(), *level))
      edge.push_back(maps[group[i]].to_mosaic(sketches[group[i]].in_full(place)));
  }
  const auto fit = fit_circle(edge);
  if (!fit || fit->kept < kKeptShare) return std::nullopt;
  const LimbCurve out{fit->circle, {}};
  std::erase_if(edge, [&](Displacement place) {
    return std::abs(out.circle.outside_px(place)) > fit->worst_px;
  });
  return out.seen_deg(edge) < kLeastSeenDeg ? std::nullopt : std::optional(out);
}

std::optional<LimbFit> fit_limb(const std::vector<Displacement>& places,
                                const std::optional<Flattening>& flattening) {
  const auto start = fit_circle(places);
  if (!start) return std::nullopt;
  LimbFit out{{start->circle, flattening.value_or(Flattening())}, 0};
  Gaps gaps = gaps_of(places, out.curve);
  for (int round = 0; round < kRounds; ++round) {
    if (!step(out.curve, places, gaps.trusted, flattening.has_value())) return std::nullopt;
    gaps = gaps_of(places, out.curve);
  }
  out.rms_px = gaps.rms_px;
  return out;
}

}  // namespace lull::mosaic
